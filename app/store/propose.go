package store

import (
	"context"

	"linerwatch/app/study"
)

// Propose keeps in a transaction how a search ended, and what it proposes in place of an
// earlier proposal.
func Propose(ctx context.Context, tx Querier, p study.SearchEnd) error {
	if p.Draft == nil {
		if err := dropDraft(ctx, tx, p.HipID, p.FilmID, study.Proposed); err != nil {
			return err
		}
	} else if err := saveDraft(ctx, tx, *p.Draft); err != nil {
		return err
	}
	return saveLink(ctx, tx, p.Link, p.By)
}
