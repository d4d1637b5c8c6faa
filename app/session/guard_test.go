package session

import (
	"context"
	"errors"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/study"
)

// judged is a study whose check finds what it is told to.
type judged struct {
	study.Store
	verdict *error
}

func (j judged) Check(context.Context) error { return *j.verdict }

// A file that is back at its place and damaged is damaged, not away.
func TestFileThatIsBackMayBeDamaged(t *testing.T) {
	var verdict error
	b := newBench(t)
	files := b.cfg.Studies
	b.cfg.Studies.Create = func(path string) (study.Store, error) {
		st, err := files.Create(path)
		return judged{st, &verdict}, err
	}
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	require.NoError(t, b.book.Look())
	verdict = study.ErrMoved
	require.ErrorIs(t, b.book.Look(), study.ErrMoved)
	b.drain()
	require.Contains(t, b.Notice(), "was moved, removed or replaced")
	verdict = study.ErrDamaged
	require.ErrorIs(t, b.book.Look(), study.ErrDamaged)
	b.drain()
	require.NotErrorIs(t, b.book.Fault(), study.ErrMoved)
	require.Contains(t, b.Notice(), "damaged")
	verdict = errors.Join(study.ErrDamaged, study.ErrMoved)
	require.ErrorIs(t, b.book.Look(), study.ErrMoved, "what is away is told first: it can be kept by saving it elsewhere")
}

// altered is a study that was changed by other means.
type altered struct{ study.Store }

func (altered) Audit(context.Context) (study.Audit, error) {
	return study.Audit{Broken: make([]study.Break, 2)}, nil
}

func TestStudyChangedOutsideTheProgramIsTold(t *testing.T) {
	b := newBench(t)
	files := b.cfg.Studies
	b.cfg.Studies.Create = func(path string) (study.Store, error) {
		st, err := files.Create(path)
		return altered{st}, err
	}
	require.NoError(t, b.book.create(filepath.Join(t.TempDir(), "s"+study.FileExt)))
	for b.book.Fault() == nil {
		b.one()
	}
	require.True(t, study.IsAltered(b.book.Fault()))
	require.Equal(t, "The study was changed outside the program: 2 things in it are not as its audit trail says.", b.Notice())
}
