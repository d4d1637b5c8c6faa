package web

import (
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"net/http"
	"os"
	"strconv"
	"strings"

	"linerwatch/dicomio"
)

// The sequences of the answer to a store (PS3.18 table I.2-1).
const (
	referencedSequence = "00081199"
	failedSequence     = "00081198"
	referencedInstance = 0x00081155
	failureReason      = 0x00081197
)

// Store sends the object in a DICOM file by STOW-RS (PS3.18 section 10.5). It is stored
// where the archive names its instance among those that are, whatever the status.
func (c *Client) Store(ctx context.Context, path string) error {
	o, _, err := dicomio.ObjectOf(path)
	if err != nil {
		return err
	}
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close() // only read from
	info, err := f.Stat()
	if err != nil {
		return err
	}
	resp, err := c.post(ctx, f, info.Size())
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	switch resp.StatusCode {
	case http.StatusOK, http.StatusAccepted, http.StatusBadRequest, http.StatusConflict:
		return stored(resp, o.Instance)
	}
	return refusal(resp)
}

// post sends one file, its length told before: not every archive takes chunks.
func (c *Client) post(ctx context.Context, f io.Reader, size int64) (*http.Response, error) {
	boundary := rand.Text() // which no film can know
	head := "--" + boundary + "\r\nContent-Type: application/dicom\r\n\r\n"
	tail := "\r\n--" + boundary + "--\r\n"
	all := io.MultiReader(strings.NewReader(head), io.LimitReader(f, size), strings.NewReader(tail))
	req, err := http.NewRequest(http.MethodPost, c.at("studies").String(), io.NopCloser(all))
	if err != nil {
		return nil, err
	}
	req.ContentLength = int64(len(head)) + size + int64(len(tail))
	req.Header.Set("Content-Type", `multipart/related; type="application/dicom"; boundary=`+boundary)
	req.Header.Set("Accept", "application/dicom+json")
	return c.send(ctx, req)
}

// stored returns nil where the answer names the instance as stored.
func stored(resp *http.Response, instance string) error {
	var answer dataset
	if err := readJSON(resp.Body, &answer); err != nil {
		return dicomio.Refused("web.store-untold", "the archive answers %s and does not say whether it has kept the object", "Status", resp.Status)
	}
	for _, item := range answer.items(referencedSequence) {
		if item.values()[referencedInstance] == instance {
			return nil
		}
	}
	for _, item := range answer.items(failedSequence) {
		v := item.values()
		if v[referencedInstance] == instance {
			reason, _ := strconv.Atoi(v[failureReason])
			return dicomio.Refused("web.store-failed", "the archive has not kept the object: reason %s", "Reason", fmt.Sprintf("%04X", reason))
		}
	}
	return dicomio.Refused("web.store-untold", "the archive answers %s and does not say whether it has kept the object", "Status", resp.Status)
}
