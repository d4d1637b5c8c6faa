package cli_test

import (
	"context"
	"net"
	"net/http"
	"net/http/httptest"
	"os"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"github.com/stretchr/testify/require"
	"github.com/zalando/go-keyring"

	"linerwatch/app/store"
	"linerwatch/app/study"
	"linerwatch/dicomio/dimse/dimsetest"
	"linerwatch/dicomio/web/webtest"
)

// served are an archive of each kind, for a script.
type served struct {
	web, dimse string // addresses
	gone       atomic.Bool
	stop       func() // of dimse
	kept       *dimsetest.Archive
}

// archives starts archives and more; false is of another word.
func (s *script) archives(at, word string, f []string) bool {
	t := s.t
	switch word {
	case "archives":
		s.serve(f[0], f[1])
	case "down":
		s.served.gone.Store(true)
		s.served.stop()
	case "up":
		s.served.gone.Store(false)
		var l net.Listener
		require.Eventually(t, func() bool { // whoever listened there is about to be gone
			var err error
			l, err = net.Listen("tcp", s.served.dimse)
			return err == nil
		}, 10*time.Second, time.Millisecond, at)
		s.served.on(t.Context(), l)
	case "env":
		s.env = map[string]string{}
		for _, word := range f {
			name, value, _ := strings.Cut(word, "=")
			s.env[name] = value
		}
	case "stdin":
		s.stdin = strings.Join(f, " ") + "\n"
	case "hip":
		st, err := store.Files().Open(t.Context(), f[0], nil)
		require.NoError(t, err, at)
		side, err := study.ParseSide(f[2])
		require.NoError(t, err, at)
		_, err = st.SaveHip(t.Context(), study.Hip{Patient: f[1], Side: side, StartYears: 1}, study.Stamp{Reader: "R1"})
		require.NoError(t, err, at)
		require.NoError(t, st.Close(), at)
	case "ring":
		keyring.MockInit()
	case "count":
		n, err := strconv.Atoi(f[0])
		require.NoError(t, err, at)
		list, err := os.ReadDir(f[1])
		require.NoError(t, err, at)
		require.Len(t, list, n, at)
	default:
		return false
	}
	return true
}

// serve starts an archive of each kind, empty.
func (s *script) serve(user, password string) {
	s.served = &served{kept: &dimsetest.Archive{Title: "ARCHIVE", Dir: s.t.TempDir()}}
	web := &webtest.Archive{User: user, Password: password}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if s.served.gone.Load() {
			panic(http.ErrAbortHandler)
		}
		web.ServeHTTP(w, r)
	}))
	s.t.Cleanup(server.Close)
	s.served.web = server.URL
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(s.t, err)
	s.served.dimse = l.Addr().String()
	s.served.on(s.t.Context(), l)
}

func (s *served) on(ctx context.Context, l net.Listener) {
	ctx, s.stop = context.WithCancel(ctx)
	s.kept.On(ctx, l)
}

// addressed are args with the addresses of archives, and ␣ for a space within one.
func (s *script) addressed(args []string) (out []string) {
	if s.served == nil {
		return args
	}
	in := strings.NewReplacer("$WEB", s.served.web, "$DIMSE", s.served.dimse, "␣", " ")
	for _, a := range args {
		out = append(out, in.Replace(a))
	}
	return out
}
