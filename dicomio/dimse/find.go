package dimse

import (
	"context"
	"maps"

	"linerwatch/dicomio"
)

// mostSeen is how many answers to one question are taken.
const mostSeen = 100_000

const (
	charsetTag = 0x00080005
	levelTag   = 0x00080052
)

// Find returns what is found at a level, "STUDY", "SERIES" or "IMAGE" (PS3.4 section
// C.4.1). Keys with a value have to match; those without one are asked for. SERIES needs
// the study's UID among the keys, IMAGE the series' too.
func (c *Client) Find(ctx context.Context, level string, keys dicomio.Values) (out []dicomio.Values, err error) {
	err = c.with(ctx, each([]string{studyFind}, explicitLittle, implicitLittle), nil, func(con *conn) error {
		id, err := con.context(studyFind, explicitLittle, implicitLittle)
		if err != nil {
			return err
		}
		if err := con.sendValues(id, asking(cFind, studyFind, 1, true), identifier(level, keys)); err != nil {
			return err
		}
		out, err = con.found()
		return err
	})
	if err != nil {
		return nil, err
	}
	return out, nil
}

// identifier is what is asked for at a level.
func identifier(level string, keys dicomio.Values) dicomio.Values {
	v := maps.Clone(keys)
	v[charsetTag], v[levelTag] = "ISO_IR 192", level
	return v
}

// found reads the answers to a search.
func (c *conn) found() (out []dicomio.Values, err error) {
	for {
		id, answer, err := c.answer(cFind)
		if err != nil {
			return nil, err
		}
		var v dicomio.Values
		if answer.hasData() {
			if v, err = c.values(id); err != nil {
				return nil, err
			}
		}
		switch status := answer.number(elStatus); {
		case pending(status) && len(out) >= mostSeen:
			return nil, dicomio.Refused("dimse.many", "the archive finds more than %d; ask for less", "Most", mostSeen)
		case pending(status) && v != nil:
			out = append(out, v)
		case status == statusDone:
			return out, nil
		case !pending(status):
			return nil, answer.statusFault()
		}
	}
}
