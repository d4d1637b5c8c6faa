// Package dimsetest is a small image archive that speaks DIMSE, for tests: it keeps films
// in a folder and answers C-ECHO, C-FIND, C-GET, C-MOVE and C-STORE.
package dimsetest

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"linerwatch/dicomio"
	"linerwatch/dicomio/dimse"
)

// Archive keeps films in Dir.
type Archive struct {
	Title string
	Dir   string
	Known map[string]string // the addresses of acceptors by their titles, for C-MOVE

	lock  sync.Mutex
	films []film
	calls int
}

type film struct {
	path   string
	values dicomio.Values
}

// Classes are those that the archive keeps: digital and computed radiographs, secondary
// captures.
var Classes = []string{"1.2.840.10008.5.1.4.1.1.1.1", "1.2.840.10008.5.1.4.1.1.1", "1.2.840.10008.5.1.4.1.1.7"}

// Serve serves on a free port of the loopback until ctx is done, and returns its address.
func (a *Archive) Serve(ctx context.Context) (address string, err error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	a.On(ctx, l)
	return l.Addr().String(), nil
}

// On serves on a listener until ctx is done.
func (a *Archive) On(ctx context.Context, l net.Listener) {
	s := &dimse.Service{Title: a.Title, Store: a.Keep, Classes: Classes, Syntaxes: dicomio.Readable(), Find: a.find, Get: a.get, Move: a.move}
	go func() { _ = s.Serve(ctx, l) }() // whoever asks hears of it
}

// Len is how many films there are.
func (a *Archive) Len() int {
	a.lock.Lock()
	defer a.lock.Unlock()
	return len(a.films)
}

// Keep writes a film into the folder; it is a dimse.Kept.
func (a *Archive) Keep(_ dicomio.Object, r io.Reader) error {
	a.lock.Lock()
	a.calls++
	path := filepath.Join(a.Dir, fmt.Sprintf("%04d.dcm", a.calls))
	a.lock.Unlock()
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	_, err = io.Copy(f, r)
	if err = errors.Join(err, f.Close()); err != nil {
		return err
	}
	return a.Add(path)
}

// Add takes a film that is in a file.
func (a *Archive) Add(path string) error {
	_, _, v, err := dicomio.ReadObject(path)
	if err != nil {
		return err
	}
	a.lock.Lock()
	defer a.lock.Unlock()
	a.films = append(a.films, film{path, v})
	return nil
}

// unique is what tells the answers of a level apart.
var unique = map[string]uint32{"STUDY": 0x0020000D, "SERIES": 0x0020000E, "IMAGE": 0x00080018}

// find answers with the keys that were asked for.
func (a *Archive) find(level string, keys dicomio.Values) (out []dicomio.Values, err error) {
	tag, ok := unique[level]
	if !ok {
		return nil, errors.New("no such level")
	}
	seen := map[string]bool{}
	for _, f := range a.matching(keys) {
		if id := f.values[tag]; !seen[id] {
			seen[id] = true
			v := dicomio.Values{}
			for t := range keys {
				if s, ok := f.values[t]; ok {
					v[t] = s
				}
			}
			v[0x00080005], v[0x00080052] = "ISO_IR 192", level
			out = append(out, v)
		}
	}
	return out, nil
}

// matching are the films that have every key's value, of a list any.
func (a *Archive) matching(keys dicomio.Values) (out []film) {
	a.lock.Lock()
	defer a.lock.Unlock()
	for _, f := range a.films {
		fits := true
		for t, want := range keys {
			if want != "" && t != 0x00080005 && t != 0x00080052 && !slices.Contains(strings.Split(want, `\`), f.values[t]) {
				fits = false
			}
		}
		if fits {
			out = append(out, f)
		}
	}
	return out
}

func (a *Archive) get(_ string, keys dicomio.Values) (paths []string, err error) {
	for _, f := range a.matching(keys) {
		paths = append(paths, f.path)
	}
	return paths, nil
}

// move sends to an acceptor that is known.
func (a *Archive) move(ctx context.Context, title string, paths []string) (failed int) {
	sent := 0
	to := dimse.Client{Address: a.Known[title], Called: title, Calling: a.Title}
	_ = to.Store(ctx, paths, func(_ string, err error) { // those that were not told of have failed, too
		if err == nil {
			sent++
		}
	})
	return len(paths) - sent
}
