package dicomio

import (
	"sync"

	"linerwatch/dicomio/codec"
)

// Films that are opened at the same time share the memory of one computer, whoever
// opens them: the only state that this package has.
var (
	// files bounds the bytes of the files.
	files = newGate(maxFile)
	// decoders bounds what they are decoded to: one film of the largest size at a time,
	// with its samples and as much again for the decoder, or seven of the largest detector.
	decoders = newGate(decoded(codec.MaxPixels))
)

// decoded is what decoding so many pixels takes: samples of 16 bits, and coefficients
// or bytes of as many.
func decoded(pixels int) int64 { return 4 * int64(pixels) }

// gate lets in what fits beside what is inside. What would never fit enters alone.
type gate struct {
	most, inside int64
	lock         sync.Mutex
	left         *sync.Cond
}

func newGate(most int64) *gate {
	g := &gate{most: most}
	g.left = sync.NewCond(&g.lock)
	return g
}

// enter waits until there is room for n bytes, and returns what gives it back. Whoever
// is inside of files may enter decoders, never the other way round.
func (g *gate) enter(n int64) (leave func()) {
	n = min(n, g.most)
	g.lock.Lock()
	defer g.lock.Unlock()
	for g.inside+n > g.most {
		g.left.Wait()
	}
	g.inside += n
	return func() {
		g.lock.Lock()
		defer g.lock.Unlock()
		g.inside -= n
		g.left.Broadcast()
	}
}
