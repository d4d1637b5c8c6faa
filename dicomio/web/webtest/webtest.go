// Package webtest is a small image archive that speaks DICOMweb, for tests. It is written
// from PS3.18: QIDO-RS (10.6), WADO-RS (10.4) and STOW-RS (10.5), with paging, and writes
// its media types without quotes, as some archives do.
package webtest

import (
	"encoding/json"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"strings"
	"sync"

	"linerwatch/dicomio"
)

// Archive keeps films in memory. It is an http.Handler.
type Archive struct {
	User, Password string // that are asked for; no User, nobody

	lock  sync.Mutex
	films []film
}

type film struct {
	o      dicomio.Object
	data   []byte
	values dicomio.Values
}

// Add puts the object in a DICOM file into the archive.
func (a *Archive) Add(path string) error {
	o, data, v, err := dicomio.ReadObject(path)
	if err != nil {
		return err
	}
	a.lock.Lock()
	defer a.lock.Unlock()
	a.films = append(a.films, film{o, data, v})
	return nil
}

// Len is how many objects the archive has.
func (a *Archive) Len() int {
	a.lock.Lock()
	defer a.lock.Unlock()
	return len(a.films)
}

// ServeHTTP implements http.Handler.
func (a *Archive) ServeHTTP(w http.ResponseWriter, r *http.Request) {
	if user, password, _ := r.BasicAuth(); a.User != "" && (user != a.User || password != a.Password) {
		w.WriteHeader(http.StatusUnauthorized)
		return
	}
	p := strings.Split(strings.Trim(r.URL.Path, "/"), "/")
	switch {
	case r.Method == http.MethodPost && len(p) == 1:
		a.store(w, r)
	case len(p) == 6:
		a.retrieve(w, p[1], p[3], p[5])
	case len(p) == 1 || len(p) == 3 || len(p) == 5:
		a.find(w, r.URL.Query(), p)
	default:
		http.NotFound(w, r)
	}
}

const (
	studyUID    = 0x0020000D
	seriesUID   = 0x0020000E
	instanceUID = 0x00080018
)

// find answers a search: one answer for each study, series or instance.
func (a *Archive) find(w http.ResponseWriter, q url.Values, p []string) {
	a.lock.Lock()
	defer a.lock.Unlock()
	unique := []uint32{studyUID, seriesUID, instanceUID}[len(p)/2]
	var list []map[string]any
	seen := map[string]bool{}
	for _, f := range a.films {
		if len(p) > 1 && f.values[studyUID] != p[1] || len(p) > 3 && f.values[seriesUID] != p[3] || !matches(f.values, q) || seen[f.values[unique]] {
			continue
		}
		seen[f.values[unique]] = true
		list = append(list, asJSON(f.values))
	}
	list = list[min(len(list), whole(q.Get("offset"), 0)):]
	list = list[:min(len(list), whole(q.Get("limit"), len(list)))]
	if len(list) == 0 {
		w.WriteHeader(http.StatusNoContent)
		return
	}
	w.Header().Set("Content-Type", "application/dicom+json")
	_ = json.NewEncoder(w).Encode(list) // whoever asked has gone
}

func whole(s string, otherwise int) int {
	if n, err := strconv.Atoi(s); err == nil {
		return n
	}
	return otherwise
}

// matches compares the keys that are tags, exactly.
func matches(v dicomio.Values, q url.Values) bool {
	for name, want := range q {
		if t, err := strconv.ParseUint(name, 16, 32); err == nil && len(name) == 8 && v[uint32(t)] != want[0] {
			return false
		}
	}
	return true
}

// asJSON writes every value as a string, and a person's name as an object.
func asJSON(v dicomio.Values) map[string]any {
	out := map[string]any{"00081190": map[string]any{"vr": "UR", "Value": []any{"http://inner.example:8042/never"}}}
	for t, s := range v {
		list := []any{}
		for part := range strings.SplitSeq(s, `\`) {
			if t == 0x00100010 {
				list = append(list, map[string]string{"Alphabetic": part})
			} else {
				list = append(list, part)
			}
		}
		out[fmt.Sprintf("%08X", t)] = map[string]any{"vr": "LO", "Value": list}
	}
	return out
}

// retrieve sends one instance.
func (a *Archive) retrieve(w http.ResponseWriter, study, series, instance string) {
	a.lock.Lock()
	i := slices.IndexFunc(a.films, func(f film) bool {
		return f.values[studyUID] == study && f.values[seriesUID] == series && f.o.Instance == instance
	})
	if i < 0 {
		a.lock.Unlock()
		w.WriteHeader(http.StatusNotFound)
		return
	}
	data := a.films[i].data
	a.lock.Unlock()
	w.Header().Set("Content-Type", "multipart/related; type=application/dicom; boundary=a/b")
	_, _ = fmt.Fprint(w, "--a/b\r\nContent-Type: application/dicom\r\n\r\n")
	_, _ = w.Write(data)
	_, _ = fmt.Fprint(w, "\r\n--a/b--\r\n") // whoever asked has gone
}

// store keeps what it is sent, and says so by instance.
func (a *Archive) store(w http.ResponseWriter, r *http.Request) {
	_, boundary, _ := strings.Cut(r.Header.Get("Content-Type"), "boundary=")
	parts := multipart.NewReader(r.Body, boundary)
	answer := map[string]any{}
	kept := []any{}
	for {
		part, err := parts.NextRawPart()
		if err == io.EOF {
			break
		}
		if err != nil {
			w.WriteHeader(http.StatusBadRequest)
			return
		}
		if instance, err := a.keep(part); err == nil {
			kept = append(kept, map[string]any{"00081155": map[string]any{"vr": "UI", "Value": []any{instance}}})
		}
	}
	answer["00081199"] = map[string]any{"vr": "SQ", "Value": kept}
	_ = json.NewEncoder(w).Encode(answer)
}

// keep adds a part by way of a file.
func (a *Archive) keep(part io.Reader) (string, error) {
	f, err := os.CreateTemp("", "webtest-*")
	if err != nil {
		return "", err
	}
	defer os.Remove(f.Name())
	_, err = io.Copy(f, part)
	f.Close() // what was not written is not read
	if err != nil {
		return "", err
	}
	if err := a.Add(f.Name()); err != nil {
		return "", err
	}
	a.lock.Lock()
	defer a.lock.Unlock()
	return a.films[len(a.films)-1].o.Instance, nil
}
