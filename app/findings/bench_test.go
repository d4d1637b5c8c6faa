package findings

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/findings/findingstest"
)

// BenchmarkTell computes what the pages of a study show of all its hips, each of six films
// that two read: the mixed model with the comparison of groups, and the agreement of readers.
func BenchmarkTell(b *testing.B) {
	for _, hips := range []int{200, 2000, 20000} {
		b.Run(fmt.Sprint(hips), func(b *testing.B) {
			g := New(Options{})
			for _, r := range (findingstest.Study{Hips: hips, Groups: []string{"a", "b"}, Readers: 2, Films: 6}).Records() {
				g.Add(r)
			}
			f := g.Tell()
			b.Run("cohort model", func(b *testing.B) {
				for b.Loop() {
					c := cohort(f.Hips, f.Groups, false)
					require.True(b, c.WhyMixed.IsZero(), "%v", c.WhyMixed)
				}
			})
			b.Run("agreement", func(b *testing.B) {
				for b.Loop() {
					again := g.agree.Apart()
					again.Join(g.agree)
					a, err := again.Judge()
					require.NoError(b, err)
					require.Equal(b, hips, a.Hips)
				}
			})
		})
	}
}
