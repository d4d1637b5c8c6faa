// Package web asks an image archive by DICOMweb (PS3.18): QIDO-RS finds, WADO-RS
// retrieves, STOW-RS stores.
//
// Nothing that an archive answers is believed before it is checked: paths are built from
// the root that was given and from UIDs that are some, never from a Retrieve URL; a
// redirect to another host is refused, so that a password goes nowhere else; an answer
// that breaks off is an error, and what was stored is what the archive says of the very
// instance. An archive that falls silent is given up after Options.Silence.
//
//	c, err := web.New("https://archive.example/dicom-web", web.Options{User: "ward"})
//	found, err := c.Find(ctx, "STUDY", dicomio.Values{0x00100020: "P1", 0x0020000D: ""})
package web
