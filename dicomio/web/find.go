package web

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"linerwatch/dicomio"
)

const (
	page     = 500      // answers that are asked for at a time
	mostJSON = 64 << 20 // bytes of an answer
	mostSeen = 100_000  // answers to one question
)

// The UIDs of an instance and of what holds it.
const (
	studyUID    = 0x0020000D
	seriesUID   = 0x0020000E
	instanceUID = 0x00080018
)

// Find returns what is found at a level, "STUDY", "SERIES" or "IMAGE" (PS3.4 C.6), by
// QIDO-RS (PS3.18 section 10.6). Keys with a value have to match; those without one are
// asked for. SERIES needs the study's UID among the keys, IMAGE the series' too.
func (c *Client) Find(ctx context.Context, level string, keys dicomio.Values) ([]dicomio.Values, error) {
	at, err := c.levelAt(level, keys)
	if err != nil {
		return nil, err
	}
	var out []dicomio.Values
	seen := map[string]bool{}
	for len(out) < mostSeen {
		list, more, err := c.page(ctx, at, keys, len(out))
		if err != nil {
			return nil, err
		}
		fresh := false
		for _, v := range list { // an archive may pass over the offset, and say all again
			id := v[studyUID] + " " + v[seriesUID] + " " + v[instanceUID]
			if !seen[id] {
				seen[id], fresh = true, true
				out = append(out, v)
			}
		}
		if !fresh || !more {
			return out, nil
		}
	}
	return nil, dicomio.Refused("web.many", "the archive finds more than %d; ask for less", "Most", mostSeen)
}

// levelAt is the path at which a level is searched.
func (c *Client) levelAt(level string, keys dicomio.Values) (*url.URL, error) {
	parts := []string{"studies", keys[studyUID], "series", keys[seriesUID], "instances"}
	n := map[string]int{"STUDY": 1, "SERIES": 3, "IMAGE": 5}[level]
	if n == 0 {
		return nil, fmt.Errorf("web: no level %q", level)
	}
	for i := 1; i < n; i += 2 {
		if !isUID(parts[i]) {
			return nil, dicomio.Refused("web.uid", "%q is no UID", "UID", parts[i])
		}
	}
	return c.at(parts[:n]...), nil
}

// page asks for the answers from one on; more reports that there may be others.
func (c *Client) page(ctx context.Context, at *url.URL, keys dicomio.Values, from int) (list []dicomio.Values, more bool, err error) {
	q := url.Values{"limit": {strconv.Itoa(page)}, "offset": {strconv.Itoa(from)}}
	for _, t := range slices.Sorted(maps.Keys(keys)) {
		name, path := fmt.Sprintf("%08X", t), at.Path
		switch {
		case keys[t] == "":
			q.Add("includefield", name)
		case (t == studyUID || t == seriesUID) && strings.Contains(path, keys[t]): // said already
		default:
			q.Set(name, keys[t])
		}
	}
	u := *at
	u.RawQuery = strings.ReplaceAll(q.Encode(), "%2A", "*") // some archives look for %2A
	req, err := http.NewRequest(http.MethodGet, u.String(), nil)
	if err != nil {
		return nil, false, err
	}
	req.Header.Set("Accept", "application/dicom+json")
	resp, err := c.send(ctx, req)
	if err != nil {
		return nil, false, err
	}
	defer resp.Body.Close()
	switch resp.StatusCode {
	case http.StatusNoContent:
		return nil, false, nil
	case http.StatusOK:
	default:
		return nil, false, refusal(resp)
	}
	var sets []dataset
	if err := readJSON(resp.Body, &sets); err != nil {
		return nil, false, err
	}
	for _, s := range sets {
		list = append(list, s.values())
	}
	left := slices.ContainsFunc(resp.Header.Values("Warning"), func(w string) bool { return strings.HasPrefix(w, "299") })
	return list, len(list) >= page || left, nil
}

// readJSON reads an answer.
func readJSON(r io.Reader, into any) error {
	data, err := io.ReadAll(io.LimitReader(r, mostJSON+1))
	switch {
	case err != nil:
		return err
	case len(data) > mostJSON:
		return dicomio.Refused("web.long", "an answer of more than %d MB", "MB", mostJSON>>20)
	}
	if json.Unmarshal(data, into) != nil {
		return dicomio.Refused("web.no-json", "the archive does not answer in DICOM JSON; is the address that of its DICOMweb?")
	}
	return nil
}

// dataset is a data set in the DICOM JSON model (PS3.18 annex F): elements by their tags
// in hexadecimal.
type dataset map[string]struct {
	VR    string            `json:"vr"`
	Value []json.RawMessage `json:"Value"`
}

// values are those of its elements that are texts and numbers.
func (d dataset) values() dicomio.Values {
	out := dicomio.Values{}
	for name, e := range d {
		t, err := strconv.ParseUint(name, 16, 32)
		if err != nil || e.VR == "SQ" {
			continue
		}
		texts := make([]string, len(e.Value))
		for i, raw := range e.Value {
			texts[i] = jsonText(raw)
		}
		out[uint32(t)] = strings.Join(texts, `\`)
	}
	return out
}

// items are those of a sequence.
func (d dataset) items(name string) (out []dataset) {
	for _, raw := range d[name].Value {
		var item dataset
		if json.Unmarshal(raw, &item) == nil {
			out = append(out, item)
		}
	}
	return out
}

// jsonText is a value: a string, a number as it is written, or a person's name, of which
// the alphabetic form counts. null is none.
func jsonText(raw json.RawMessage) string {
	var s string
	if json.Unmarshal(raw, &s) == nil {
		return strings.Trim(s, " \x00")
	}
	var n json.Number
	if json.Unmarshal(raw, &n) == nil {
		return n.String()
	}
	var name struct{ Alphabetic string }
	_ = json.Unmarshal(raw, &name) // else it is none
	return name.Alphabetic
}
