package batch

import (
	"context"

	"linerwatch/app/study"
)

// Assign makes the reading lists of a plan and keeps them in the study, all of them or none.
func Assign(ctx context.Context, st study.Store, plan study.ListPlan, by study.Stamp) ([]study.List, error) {
	records, err := recordsOf(ctx, st)
	if err != nil {
		return nil, err
	}
	lists, err := study.MakeLists(records, plan)
	if err != nil {
		return nil, err
	}
	return st.AddLists(ctx, lists, by)
}

// Adjudicate makes the list of a third reader and keeps it in the study.
func Adjudicate(ctx context.Context, st study.Store, plan study.AdjudicationPlan, by study.Stamp) ([]study.List, error) {
	records, err := recordsOf(ctx, st)
	if err != nil {
		return nil, err
	}
	list, err := study.MakeAdjudication(records, plan)
	if err != nil {
		return nil, err
	}
	return st.AddLists(ctx, []study.List{list}, by)
}

// Unfinished returns the lists of a study that are still being read.
func Unfinished(ctx context.Context, st study.Store) (left []study.List, err error) {
	lists, err := st.Lists(ctx)
	for _, l := range lists {
		done, err := st.ListDone(ctx, l.ID)
		if err != nil {
			return nil, err
		}
		if l.Left(done) > 0 {
			left = append(left, l)
		}
	}
	return left, err
}

// Agreement judges how far the readers of a study agree.
func Agreement(ctx context.Context, st study.Store, medial bool) (study.StudyAgreement, error) {
	lists, err := st.Lists(ctx)
	if err != nil {
		return study.StudyAgreement{}, err
	}
	g := study.NewAgreeing(lists, medial)
	if err := st.Records(ctx, func(r study.Record) error { g.Add(r); return nil }); err != nil {
		return study.StudyAgreement{}, err
	}
	return g.Judge()
}

// recordsOf reads everything that the study keeps of its hips.
func recordsOf(ctx context.Context, st study.Store) (all []study.Record, err error) {
	err = st.Records(ctx, func(r study.Record) error { all = append(all, r); return nil })
	return all, err
}
