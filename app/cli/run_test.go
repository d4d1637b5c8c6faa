package cli_test

import (
	"bytes"
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/cli"
)

func TestProgress(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, terminal := range []bool{true, false} {
		var out, errs bytes.Buffer
		env := cli.Env{Stdout: &out, Stderr: &errs, Progress: terminal}
		require.Equal(t, 1, cli.Run(t.Context(), []string{"measure", "--head-mm", "28", "a.dcm"}, env))
		require.NotContains(t, out.String(), "1 of 1")
		if terminal {
			require.Equal(t, "\rmeasuring films: 1 of 1\x1b[K\r\x1b[K", errs.String())
		} else {
			require.Empty(t, errs.String())
		}
	}
}

func TestStopped(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	var out, errs bytes.Buffer
	code := cli.Run(ctx, []string{"measure", "--head-mm", "28", "a.dcm"}, cli.Env{Stdout: &out, Stderr: &errs})
	require.Equal(t, 1, code)
	require.Empty(t, out.String())
	require.Equal(t, "linerwatch: stopped\n", errs.String())
}

// full is a disk without room.
type full struct{}

func (full) Write([]byte) (int, error) { return 0, errors.New("no space left on device") }

func TestOutputThatCannotBeWritten(t *testing.T) {
	for _, args := range [][]string{
		{"help"}, {"version"}, {"fit", "testdata/wear.csv"}, {"film", "testdata/wear.csv"},
		{"measure", "--head-mm", "28", "testdata/wear.csv"},
	} {
		var errs bytes.Buffer
		require.Equal(t, 1, cli.Run(t.Context(), args, cli.Env{Stdout: full{}, Stderr: &errs}), args)
		require.Equal(t, "linerwatch: no space left on device\n", errs.String(), args)
	}
}

func TestWindowThatCannotOpen(t *testing.T) {
	var errs bytes.Buffer
	env := cli.Env{Stdout: full{}, Stderr: &errs, OpenWindow: func([]string, string) error {
		return errors.New("ui: the screen is gone")
	}}
	require.Equal(t, 1, cli.Run(t.Context(), nil, env))
	require.Equal(t, "linerwatch: ui: the screen is gone\n", errs.String())
}
