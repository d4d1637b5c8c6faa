package web

import (
	"context"
	"errors"
	"io"
	"mime/multipart"
	"net/http"
	"strings"

	"linerwatch/dicomio"
)

// asStored asks for an instance in the transfer syntax in which the archive keeps it; else
// it would send it uncompressed (PS3.18 section 8.7.3.5.2).
const asStored = `multipart/related; type="application/dicom"; transfer-syntax=*`

// Retrieve hands an instance to keep, as the file that the archive has of it, by WADO-RS
// (PS3.18 section 10.4). What keep has read is whole only if Retrieve returns nil.
func (c *Client) Retrieve(ctx context.Context, study, series, instance string, keep func(io.Reader) error) error {
	for _, uid := range []string{study, series, instance} {
		if !isUID(uid) {
			return dicomio.Refused("web.uid", "%q is no UID", "UID", uid)
		}
	}
	req, err := http.NewRequest(http.MethodGet, c.at("studies", study, "series", series, "instances", instance).String(), nil)
	if err != nil {
		return err
	}
	req.Header.Set("Accept", asStored)
	resp, err := c.send(ctx, req)
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return refusal(resp)
	}
	kind, boundary := mediaType(resp.Header.Get("Content-Type"))
	switch {
	case kind == "application/dicom" && resp.ContentLength < 0 && resp.ProtoMajor == 1 && len(resp.TransferEncoding) == 0:
		return errBroken // nothing would tell where it ends
	case kind == "application/dicom":
		return keep(resp.Body)
	case kind == "multipart/related" && boundary != "":
		return one(multipart.NewReader(resp.Body, boundary), keep)
	}
	return dicomio.Refused("web.kind", "the archive sends %q in place of a film", "Kind", kind)
}

// one hands over the only part there is.
func one(r *multipart.Reader, keep func(io.Reader) error) error {
	part, err := r.NextRawPart()
	if err != nil {
		return brokenOff(err)
	}
	if err := keep(part); err != nil {
		return brokenOff(err)
	}
	if _, err := io.Copy(io.Discard, part); err != nil { // what keep left
		return brokenOff(err)
	}
	if _, err := r.NextRawPart(); err != io.EOF {
		if err == nil {
			return dicomio.Refused("web.parts", "the archive sends more than the film that was asked for")
		}
		return brokenOff(err)
	}
	return nil
}

// brokenOff is err, but in words where the closing boundary did not come: only what ends
// with it is whole.
func brokenOff(err error) error {
	if errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, io.EOF) || strings.HasPrefix(err.Error(), "multipart:") {
		return errBroken
	}
	return err
}

// mediaType returns the type and the boundary of a Content-Type. Archives write
// type=application/dicom without quotes, which package mime refuses.
func mediaType(s string) (kind, boundary string) {
	kind, rest, _ := strings.Cut(s, ";")
	for rest != "" {
		var name, value string
		name, rest, _ = strings.Cut(rest, "=")
		rest = strings.TrimLeft(rest, " \t")
		if strings.HasPrefix(rest, `"`) {
			value, rest = quoted(rest[1:])
			_, rest, _ = strings.Cut(rest, ";")
		} else {
			value, rest, _ = strings.Cut(rest, ";")
		}
		if strings.EqualFold(strings.TrimSpace(name), "boundary") {
			boundary = strings.TrimRight(value, " \t")
		}
	}
	return strings.ToLower(strings.TrimSpace(kind)), boundary
}

// quoted returns the text as far as the closing quote, and what follows that.
func quoted(s string) (text, rest string) {
	var b strings.Builder
	for i := 0; i < len(s); i++ {
		switch {
		case s[i] == '"':
			return b.String(), s[i+1:]
		case s[i] == '\\' && i+1 < len(s):
			i++
		}
		b.WriteByte(s[i])
	}
	return b.String(), ""
}
