package session

import (
	"context"
	"errors"
	"slices"
	"strings"

	"linerwatch/app/study"
)

// catchUp takes up what another window has saved, where one has.
func (b *Book) catchUp() error {
	v, err := b.guard.Version(context.Background())
	if err != nil || v == b.guard.seen {
		return err
	}
	return b.followAs(v)
}

// followTo takes up what another window has saved by a version of the study, and tells
// where it cannot.
func (b *Book) followTo(version int64) {
	if version == b.guard.seen {
		return
	}
	if err := b.followAs(version); err != nil {
		b.s.Say("%s", study.Told(err))
	}
}

// followAs follows to a version, which is looked at again where that fails.
func (b *Book) followAs(version int64) error {
	was := b.guard.seen
	b.guard.seen = version
	err := b.follow()
	if err != nil {
		b.guard.seen = was
	}
	return err
}

// follow shows what the study holds of the open hip by now: its films, readings, and which
// are left out. Outlines that were changed here stay. Implant and dates are compared when
// they are saved here (Conflict).
func (b *Book) follow() error {
	b.s.overview.outdatedAll()
	open := b.s.hipKnown
	if err := b.cover(); err != nil {
		return err
	}
	if open && !b.s.hipKnown {
		b.s.Say("%s", say("blind.covered"))
	}
	was := b.counts
	if err := errors.Join(b.loadCounts(), b.loadGradesFirst()); err != nil {
		return err
	}
	if !b.s.hipKnown || b.s.hip.ID == "" {
		b.s.changed(OverviewChanged | StudyChanged)
		return nil
	}
	came, err := b.followFilms()
	if err != nil {
		return err
	}
	read, err := b.followReadings()
	if err != nil {
		return err
	}
	for _, f := range b.s.strip.films {
		if b.counts != was {
			b.stand(f)
			b.s.work.need(f)
		}
		f.Excluded = nil
	}
	if err := errors.Join(b.loadExclusions(), b.loadGrades()); err != nil {
		return err
	}
	for _, f := range slices.Concat(came, read) {
		b.s.work.need(f)
	}
	if b.counts != was {
		b.s.Say("%s", say("follow.rule", "Rule", study.RuleWords(b.counts)))
	}
	if len(read) > 0 {
		var names, mine []string
		for _, f := range read {
			names = append(names, b.s.strip.label(f))
			if f.changed {
				mine = append(mine, b.s.strip.label(f))
			}
		}
		b.s.Say("%s", say("follow.read", "Films", strings.Join(names, ", "), "Mine", strings.Join(mine, ", ")))
	}
	b.s.course.renew()
	b.s.changed(Everything)
	return nil
}

// followFilms puts films in the strip that the hip has by now, and returns them.
func (b *Book) followFilms() (came []*Film, err error) {
	list, err := b.store.Films(context.Background(), b.s.hip.ID)
	for _, film := range list {
		if slices.ContainsFunc(b.s.strip.films, func(f *Film) bool {
			return f.ID == film.ID || f.Facts.SHA256 != "" && f.Facts.SHA256 == film.Facts.SHA256
		}) {
			continue
		}
		f := &Film{Film: film, saved: true}
		b.s.strip.put(f)
		came = append(came, f)
	}
	if len(came) > 0 {
		b.s.strip.sort()
	}
	return came, err
}

// followReadings shows the readings that there are by now, and returns the films on which
// they are others than before.
func (b *Book) followReadings() (changed []*Film, err error) {
	list, err := b.store.Readings(context.Background(), b.s.hip.ID)
	if err != nil {
		return nil, err
	}
	now := map[string][]study.Reading{}
	for _, r := range list {
		now[r.FilmID] = append(now[r.FilmID], r)
	}
	for _, f := range b.s.strip.films {
		if slices.EqualFunc(f.Readings, now[f.ID], func(a, b study.Reading) bool { return a.ID == b.ID && a.Stands() == b.Stands() }) {
			continue
		}
		had := f.ownID(b.s.settings.Reader)
		if f.Readings, err = b.withPoints(f.Readings, now[f.ID]); err != nil {
			return changed, err
		}
		b.stand(f)
		f.since = f.changed && (f.since || had != f.ownID(b.s.settings.Reader))
		changed = append(changed, f)
	}
	return changed, nil
}

// withPoints returns readings with their edge points, those of known ones as they are.
func (b *Book) withPoints(known, list []study.Reading) ([]study.Reading, error) {
	for i, r := range list {
		k := slices.IndexFunc(known, func(o study.Reading) bool { return o.ID == r.ID })
		if k >= 0 {
			list[i] = known[k]
			list[i].Withdrawn = r.Withdrawn
			continue
		}
		p, err := b.store.Points(context.Background(), r.ID)
		if err != nil {
			return nil, err
		}
		list[i] = r.With(p)
	}
	return list, nil
}
