package session

import (
	"flag"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"linerwatch/app/store"
	"linerwatch/app/study"
)

var manyFile = flag.String("many", "", "study of many hips, as TestMakeMany of app/store makes one")

// BenchmarkMany opens that study and looks at its hips as the window does: until the first
// are there, until all are, and by orders and filters once they are.
func BenchmarkMany(b *testing.B) {
	if *manyFile == "" {
		b.Skip("-many names a study")
	}
	open := func() (*Session, chan func()) {
		queue := make(chan func(), 10000)
		s := New(Config{Post: func(f func()) { queue <- f }, Studies: store.Files(), Open: (&bench{}).open, Detect: (&bench{}).detect})
		require.NoError(b, s.book.open(*manyFile))
		return s, queue
	}
	run := func(name string, until func(o *Overview) bool) {
		b.Run(name, func(b *testing.B) {
			defer tellCPU(b)()
			for b.Loop() {
				s, queue := open()
				for !until(s.Overview()) {
					(<-queue)()
				}
				b.StopTimer()
				require.NoError(b, s.Close())
				b.StartTimer()
			}
		})
	}
	run("opened", func(*Overview) bool { return true })
	run("first hips", func(o *Overview) bool { return !o.Loading() })
	run("all hips", func(o *Overview) bool { return !o.busy })
	s, queue := open()
	n := len(lookUp(s, queue))
	for key, name := range map[SortKey]string{ByState: "state", ByCode: "code", ByLastFilm: "last film", ByRate: "rate"} {
		b.Run("by "+name, func(b *testing.B) {
			defer tellCPU(b)()
			for b.Loop() {
				o := s.Overview()
				o.SortBy(key)
				require.Len(b, o.Rows(), n)
				o.Seen()
				o.Cursor(o.Rows())
			}
		})
	}
	b.Run("words typed", func(b *testing.B) {
		defer tellCPU(b)()
		for i := 0; b.Loop(); i++ {
			o := s.Overview()
			o.Text = "P-00" + strconv.Itoa(i%20)
			o.Cursor(o.Rows())
		}
	})
	b.Run("state and group", func(b *testing.B) {
		defer tellCPU(b)()
		for i := 0; b.Loop(); i++ {
			o := s.Overview()
			o.ShowAll()
			o.Group, o.State = "arm "+strconv.Itoa(i%2), study.HipStates()[i%len(study.HipStates())]
			o.Cursor(o.Rows())
			o.Groups()
		}
	})
	require.NoError(b, s.Close())
}

// tellCPU begins to count the time for which processors work for this process, which other
// programs beside it leave as it is, and returns what tells it; nothing where the system does
// not say. It counts in hundredths of a second.
func tellCPU(b *testing.B) func() {
	begun, ok := cpuTime()
	return func() {
		if now, _ := cpuTime(); ok {
			b.ReportMetric((now-begun)*1000/float64(b.N), "cpu-ms/op")
		}
	}
}

func cpuTime() (seconds float64, ok bool) {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0, false
	}
	fields := strings.Fields(string(text[strings.LastIndexByte(string(text), ')')+1:]))
	for _, f := range fields[11:13] { // user and system
		n, err := strconv.Atoi(f)
		if err != nil {
			return 0, false
		}
		seconds += float64(n) / 100
	}
	return seconds, true
}
