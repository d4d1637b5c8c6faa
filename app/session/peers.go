package session

import (
	"context"

	"linerwatch/app/session/jobs"
	"linerwatch/app/study"
)

// peers are the study's hips beside the open one, fitted together by their accepted
// readings.
type peers struct {
	of   peersKey
	fit  *study.PeerFit // nil until it is computed, and where it cannot be
	why  error          // why it cannot be
	busy bool           // it is being computed
	stop func()         // ends that
}

// peersKey is what peers are computed for: another asks for others.
type peersKey struct {
	study       study.Store
	hip, counts string
}

// Peers returns the fit of the study's other hips by the readings that count; nil where
// they are too few, and until the background has computed it, which is once for a hip
// that is opened: TrendChanged tells of it.
func (c *Course) Peers() *study.PeerFit {
	key := peersKey{c.s.book.store, c.s.hip.ID, c.s.book.counts}
	if key.study == nil || key.hip == "" {
		return nil
	}
	if c.peers.of != key {
		c.startPeers(key)
	}
	return c.peers.fit
}

// PeersFault returns why there is no fit of them; nil where there is one or it is on its way.
func (c *Course) PeersFault() error { return c.peers.why }

// forget drops what was computed, or is, for another hip or study.
func (p *peers) forget() {
	if p.stop != nil {
		p.stop()
	}
	*p = peers{}
}

func (c *Course) startPeers(key peersKey) {
	c.peers.forget()
	c.peers.of, c.peers.busy = key, true
	c.peers.stop = c.s.work.queue.Start(jobs.Job{Aside: true, Run: func(ctx context.Context, _ jobs.Step) func() {
		fit, err := fitPeers(ctx, key)
		return func() {
			c.peers.busy = false
			c.peers.fit, c.peers.why = fit, err
			c.s.changed(TrendChanged)
		}
	}})
}

func fitPeers(ctx context.Context, key peersKey) (*study.PeerFit, error) {
	var list study.Peers
	err := key.study.Records(ctx, func(r study.Record) error {
		if r.Hip.ID == key.hip {
			return nil
		}
		if t, err := r.Trend(key.counts); err == nil {
			list.Add(t)
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	return list.Fit()
}
