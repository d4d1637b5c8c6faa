package main

import (
	"runtime/debug"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestVersionHoldsTheCommit(t *testing.T) {
	tree := func(of ...debug.BuildSetting) *debug.BuildInfo { return &debug.BuildInfo{Settings: of} }
	at := debug.BuildSetting{Key: "vcs.revision", Value: "0123456789abcdef0123456789abcdef01234567"}
	changed := debug.BuildSetting{Key: "vcs.modified", Value: "true"}
	require.Equal(t, number+"+unknown", versionOf("", nil))
	require.Equal(t, number+"+unknown", versionOf("", tree()))
	require.Equal(t, number+"+0123456789ab", versionOf("", tree(at)))
	require.Equal(t, number+"+0123456789ab.changed", versionOf("", tree(at, changed)))
	require.Equal(t, number+"+fedc", versionOf("fedc", tree(at, changed)), "what the build says goes before")
}
