package study

import (
	"context"
	"time"
)

// ErrBusy is the error of a study to which another program writes.
var ErrBusy = NewError("store.busy", nil)

type patience struct{}

// Impatient returns a context with which a store waits no longer than d for others to have
// written, and then returns ErrBusy. Without it a store waits as it sees fit.
func Impatient(ctx context.Context, d time.Duration) context.Context {
	return context.WithValue(ctx, patience{}, d)
}

// Patience returns how long a store is to wait, where ctx says it.
func Patience(ctx context.Context) (d time.Duration, ok bool) {
	d, ok = ctx.Value(patience{}).(time.Duration)
	return d, ok
}
