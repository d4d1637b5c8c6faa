// Package dimse asks an image archive by the DICOM message exchange (PS3.7) over its
// upper layer protocol (PS3.8): C-ECHO, C-FIND, C-GET, C-MOVE and C-STORE of the study
// root (PS3.4 annex C), in plain or over TLS (PS3.15 annex B).
//
// No length that the other side states is believed before it has been checked against the
// bytes that are there, and none may be larger than was announced. Each part of a message
// has to come within Client.Silence. Where a context ends the connection is aborted at
// once. Films are handed on as they arrive; none is ever whole in memory.
//
// An archive chooses one transfer syntax for each presentation context that is proposed;
// so that it can send each film as it has it, every storage class is proposed once with
// each syntax, both sides able to play either role (PS3.7 D.3.3.4).
//
//	c := dimse.Client{Address: "archive.example:104", Called: "ARCHIVE", Calling: "LINERWATCH"}
//	found, err := c.Find(ctx, "STUDY", dicomio.Values{0x00100020: "P1", 0x0020000D: ""})
package dimse
