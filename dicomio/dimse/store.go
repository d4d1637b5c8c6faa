package dimse

import (
	"context"
	"io"
	"os"
	"slices"

	"linerwatch/dicomio"
)

// Store sends the objects in DICOM files as they are (C-STORE, PS3.4 annex B) and tells of
// each whether the archive has taken it. The error is that of the connection: files that
// were not told of have not been sent.
func (c *Client) Store(ctx context.Context, paths []string, told func(path string, err error)) error {
	var list []proposal
	var files []string
	objects := map[string]dicomio.Object{}
	for _, p := range paths {
		o, _, err := dicomio.ObjectOf(p)
		if err != nil {
			told(p, err)
			continue
		}
		if kind := (proposal{class: o.Class, syntax: o.Syntax}); !slices.ContainsFunc(list, kind.same) {
			list = append(list, kind)
		}
		objects[p], files = o, append(files, p)
	}
	if len(files) == 0 {
		return nil
	}
	return c.with(ctx, list, nil, func(con *conn) error {
		for _, p := range files {
			refused, err := con.store(p, objects[p])
			if err != nil {
				return err
			}
			told(p, refused)
		}
		return nil
	})
}

func (p proposal) same(o proposal) bool { return p.class == o.class && p.syntax == o.syntax }

// store sends one object; refused is why the archive has not taken it.
func (c *conn) store(path string, o dicomio.Object) (refused, err error) {
	id, refused := c.context(o.Class, o.Syntax)
	if refused != nil {
		return refused, nil
	}
	_, start, refused := dicomio.ObjectOf(path)
	if refused != nil {
		return refused, nil
	}
	f, refused := os.Open(path)
	if refused != nil {
		return refused, nil
	}
	defer f.Close() // only read from
	if _, err := f.Seek(start, io.SeekStart); err != nil {
		return nil, err
	}
	cmd := asking(cStore, o.Class, 1, true)
	cmd.setUID(elInstance, o.Instance)
	if err := c.send(id, cmd, f); err != nil {
		return nil, err
	}
	_, answer, err := c.answer(cStore)
	if err == nil && !kept(answer.number(elStatus)) {
		refused = answer.statusFault()
	}
	return refused, err
}
