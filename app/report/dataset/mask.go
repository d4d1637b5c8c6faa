package dataset

import (
	"crypto/hmac"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"linerwatch/app/study"
)

// mask keeps from the tables what tells who somebody is, where that is asked for. Days are
// then days since the hip's surgery, so that surgery, films and events keep their distances;
// texts, names and the times at which people worked are left out; readers are reader-1,
// reader-2 in the order in which they come; readings are told by their hip and number. With
// a key, patients, hips and films have other codes, the same ones each time; rows stay in the
// order of the study's own codes, which tells no code but which of two comes first.
type mask struct {
	on  bool
	key []byte

	mu      sync.RWMutex
	readers map[string]string
}

// mostAge is the highest age that is told: of who is older even a year may tell who it is
// (45 CFR 164.514(b)(2)(i)(C)).
const mostAge = 90

// reader takes note of who read, before rows are made.
func (m *mask) reader(code string) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if _, had := m.readers[code]; !had && code != "" {
		m.readers[code] = fmt.Sprint("reader-", len(m.readers)+1)
	}
}

// pseudonym is a code for a code, made with the key: 64 bits of HMAC-SHA-256 (FIPS 198-1).
func (m *mask) pseudonym(what secret, code string) string {
	letter := map[secret]string{ofSite: "S", ofPatient: "P", ofHip: "H", ofFilm: "F"}[what]
	if m.key == nil || code == "" || letter == "" {
		return code
	}
	h := hmac.New(sha256.New, m.key)
	_, _ = h.Write([]byte(letter + code)) // which does not fail
	return letter + hex.EncodeToString(h.Sum(nil)[:8])
}

// readerTold is a reader's code as it is told.
func (m *mask) readerTold(code string) string {
	if !m.on {
		return code
	}
	return m.readerCodes(code)
}

func (m *mask) readerCodes(cell string) string {
	m.mu.RLock()
	defer m.mu.RUnlock()
	if to, ok := m.readers[cell]; ok {
		return to
	}
	var out []string
	for _, code := range strings.Split(cell, ";") {
		if to, ok := m.readers[code]; ok {
			out = append(out, to)
		}
	}
	if rule, err := study.ParseRule(cell); out == nil && err == nil && rule != cell { // it names no reader, or one behind a colon
		word, reader, of := strings.Cut(cell, ":")
		if !of {
			return word
		}
		return word + ":" + m.readers[reader]
	}
	return strings.Join(out, ";")
}

// masked returns a column as the export may tell it; false where it may not.
func masked[T row](m *mask, c column[T]) (column[T], bool) {
	if !m.on {
		return c, true
	}
	plain := c.cell
	switch c.kind.tells {
	case aTime, prose:
		return c, false
	case aDate:
		return sinceSurgery(c), true
	case anAge:
		c.how = fmt.Sprintf("%d stands for that and more", mostAge)
		c.cell = func(v T) string {
			if age, err := strconv.ParseFloat(plain(v), 64); err == nil && age > mostAge {
				return wholeCell(mostAge)
			}
			return plain(v)
		}
	case ofReader:
		c.cell = func(v T) string { return m.readerCodes(plain(v)) }
	case ofReading:
		c.cell = func(v T) string {
			if h := v.of(); h != nil {
				return h.readingCode(m, plain(v))
			}
			return ""
		}
	case ofSite, ofPatient, ofHip, ofFilm:
		what := c.kind.tells
		c.cell = func(v T) string { return m.pseudonym(what, plain(v)) }
	}
	return c, true
}

// sinceSurgery tells a day as days since the surgery of the row's hip.
func sinceSurgery[T row](c column[T]) column[T] {
	plain := c.cell
	c.name = strings.TrimSuffix(c.name, "_date") + "_day"
	c.label = strings.Replace(c.label, "date of", "day of", 1)
	c.how = strings.TrimPrefix(c.how+"; days since surgery, which is day 0", "; ")
	c.unit, c.kind = "days", daysSince
	c.cell = func(v T) string {
		date, err := time.Parse(time.DateOnly, plain(v))
		h := v.of()
		if err != nil || h == nil || h.Hip.Surgery.IsZero() {
			return ""
		}
		surgery, _ := time.Parse(time.DateOnly, day(h.Hip.Surgery))
		return wholeCell(int(math.Round(date.Sub(surgery).Hours() / 24)))
	}
	return c
}

// readingCode tells readings of the hip, joined by ;, by the hip and the number of each.
func (h *hipRow) readingCode(m *mask, cell string) string {
	var out []string
	for _, id := range strings.Split(cell, ";") {
		if i := slices.IndexFunc(h.Readings, func(g study.Reading) bool { return g.ID == id }); i >= 0 {
			out = append(out, fmt.Sprintf("%s.%d", m.pseudonym(ofHip, h.Hip.ID), i+1))
		}
	}
	return strings.Join(out, ";")
}
