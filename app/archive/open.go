package archive

import (
	"context"
	"crypto/tls"
	"crypto/x509"
	"errors"
	"io"
	"io/fs"
	"net"
	"os"
	"sync"

	"linerwatch/app/study"
	"linerwatch/dicomio"
	"linerwatch/dicomio/dimse"
	"linerwatch/dicomio/web"
)

// classes are the SOP classes of films: digital radiographs for presentation and for
// processing, computed radiographs, and secondary captures, as which films are scanned.
var classes = []string{
	"1.2.840.10008.5.1.4.1.1.1.1", "1.2.840.10008.5.1.4.1.1.1.1.1",
	"1.2.840.10008.5.1.4.1.1.1", "1.2.840.10008.5.1.4.1.1.7",
}

// link is a way to ask an archive.
type link interface {
	// Find finds by level and keys.
	Find(ctx context.Context, level string, keys dicomio.Values) ([]dicomio.Values, error)
	// check asks whether the archive is there and takes who asks.
	check(ctx context.Context) error
	// fetch has instances sent to take, in any order, and tells of those that the archive
	// refuses. Its error is that of the connection.
	fetch(ctx context.Context, list []instance, take takes, refused func(uid string, err error)) error
	// send sends the objects in files, and tells of each.
	send(ctx context.Context, paths []string, told func(path string, err error)) error
	// Close lets go of what is kept between questions.
	Close()
}

// instance is one image of an archive.
type instance struct{ study, series, uid string }

// takes keeps the file that an instance makes under another name; done, which is called
// once it is known to be whole, gives it its own.
type takes func(file io.Reader) (done func() error, err error)

// Archive is an archive to be asked.
type Archive struct {
	Settings
	link
}

// Open returns the archive of settings; nothing is sent yet.
func Open(ctx context.Context, s Settings, secrets Secrets) (*Archive, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	cfg, err := s.tls()
	if err != nil {
		return nil, err
	}
	if !s.Web() {
		c := &dimse.Client{Address: s.Address, Called: s.Called, Calling: s.Calling, TLS: cfg, Classes: classes, Syntaxes: dicomio.Readable()}
		if !s.TLS {
			c.TLS = nil
		}
		return &Archive{s, &byDimse{Client: c, receive: s.Receive}}, nil
	}
	password, err := secrets.Of(ctx, s)
	if err != nil {
		return nil, err
	}
	c, err := web.New(s.Address, web.Options{User: s.User, Password: password, TLS: cfg})
	if err != nil {
		return nil, err
	}
	return &Archive{s, byWeb{c}}, nil
}

// tls is what is set of certificates.
func (s Settings) tls() (*tls.Config, error) {
	cfg := &tls.Config{MinVersion: tls.VersionTLS12}
	if s.CA != "" {
		pem, err := os.ReadFile(s.CA)
		if err != nil {
			return nil, study.WrapError(err, "archive.ca-file", study.Values{"Why": study.NoteOf(err)})
		}
		if cfg.RootCAs, err = x509.SystemCertPool(); err != nil {
			cfg.RootCAs = x509.NewCertPool()
		}
		if !cfg.RootCAs.AppendCertsFromPEM(pem) {
			return nil, study.NewError("archive.ca-none", study.Values{"Path": s.CA})
		}
	}
	if s.Cert != "" {
		pair, err := tls.LoadX509KeyPair(s.Cert, s.Key)
		if err != nil {
			return nil, study.WrapError(err, "archive.cert-file", study.Values{"Why": study.NoteOf(err)})
		}
		cfg.Certificates = []tls.Certificate{pair}
	}
	return cfg, nil
}

// Ask asks whether the archive is there and takes who asks.
func (a *Archive) Ask(ctx context.Context) error { return a.check(ctx) }

// Send sends the objects in DICOM files to the archive and tells of each whether it was
// taken. The error is that of the connection: files that were not told of were not sent.
func (a *Archive) Send(ctx context.Context, paths []string, told func(path string, err error)) error {
	return a.send(ctx, paths, func(path string, err error) { told(path, unnamed(path, err)) })
}

// unnamed is the error of a file without its name, which is told beside it.
func unnamed(path string, err error) error {
	if e, ok := errors.AsType[*dicomio.FileError](err); ok {
		return e.Err
	}
	if p, ok := errors.AsType[*fs.PathError](err); ok && p.Path == path {
		return p.Err
	}
	return err
}

// byWeb asks by DICOMweb.
type byWeb struct{ *web.Client }

func (b byWeb) check(ctx context.Context) error {
	_, err := b.Find(ctx, "STUDY", dicomio.Values{patientTag: "linerwatch-asks", studyTag: ""})
	return err
}

// mostFaults is how many films in a row may fail before the archive is taken to be gone.
const mostFaults = 3

func (b byWeb) fetch(ctx context.Context, list []instance, take takes, refused func(string, error)) error {
	faults := 0
	for _, i := range list {
		var done func() error
		err := b.Retrieve(ctx, i.study, i.series, i.uid, func(r io.Reader) (err error) {
			done, err = take(r)
			return err
		})
		if err == nil {
			err = done()
		}
		if err == nil {
			faults = 0
			continue
		}
		if faults++; ctx.Err() != nil || faults == mostFaults || ofFolder(err) {
			return err
		}
		refused(i.uid, err)
	}
	return nil
}

// ofFolder reports whether err is of a file, which no other film would be without.
func ofFolder(err error) bool {
	_, path := errors.AsType[*fs.PathError](err)
	_, link := errors.AsType[*os.LinkError](err)
	return path || link
}

func (b byWeb) send(ctx context.Context, paths []string, told func(string, error)) error {
	for _, p := range paths {
		err := b.Store(ctx, p)
		if ctx.Err() != nil {
			return ctx.Err()
		}
		told(p, err)
	}
	return nil
}

// byDimse asks by the DICOM message exchange.
type byDimse struct {
	*dimse.Client
	receive string // where films are received by C-MOVE; "" is by C-GET
}

// Close implements link; nothing is kept.
func (*byDimse) Close() {}

func (b *byDimse) check(ctx context.Context) error { return b.Echo(ctx) }

func (b *byDimse) send(ctx context.Context, paths []string, told func(string, error)) error {
	return b.Store(ctx, paths, told)
}

// mostUIDs is how many instances are asked for at a time: a list of UIDs has a length of 16 bits.
const mostUIDs = 100

func (b *byDimse) fetch(ctx context.Context, list []instance, take takes, refused func(string, error)) error {
	var lock sync.Mutex // films that are received come on other goroutines
	keep := func(_ dicomio.Object, r io.Reader) error {
		lock.Lock()
		defer lock.Unlock()
		done, err := take(r)
		if err == nil {
			err = done()
		}
		if errors.Is(err, errOtherFilm) {
			return nil // some archives send all that they have of a series
		}
		return err
	}
	if b.receive != "" {
		end, err := b.receiving(ctx, keep)
		if err != nil {
			return err
		}
		defer end()
	}
	var err error
	if keys := lists(list); b.receive != "" {
		_, err = b.Move(ctx, "IMAGE", keys, b.Calling)
	} else {
		_, err = b.Get(ctx, "IMAGE", keys, keep)
	}
	if errors.Is(err, dimse.ErrPartly) {
		return nil // what has not come is told as such
	}
	return err
}

// lists are keys of instances, so many of one series at a time as may be asked for.
func lists(list []instance) (out []dicomio.Values) {
	for len(list) > 0 {
		first, n := list[0], 1
		uids := first.uid
		for ; n < min(len(list), mostUIDs) && list[n].series == first.series && list[n].study == first.study; n++ {
			uids += `\` + list[n].uid
		}
		out = append(out, dicomio.Values{studyTag: first.study, seriesTag: first.series, instanceTag: uids})
		list = list[n:]
	}
	return out
}

// receiving receives films until end is called.
func (b *byDimse) receiving(ctx context.Context, keep dimse.Kept) (end func(), err error) {
	l, err := net.Listen("tcp", b.receive)
	if err != nil {
		return nil, study.WrapError(err, "archive.receive", study.Values{"Address": b.receive, "Why": study.NoteOf(err)})
	}
	if b.TLS != nil {
		l = tls.NewListener(l, b.TLS)
	}
	s := &dimse.Service{Title: b.Calling, Store: keep, Classes: b.Classes, Syntaxes: b.Syntaxes}
	ctx, stop := context.WithCancel(ctx)
	served := make(chan struct{})
	go func() {
		defer close(served)
		_ = s.Serve(ctx, l) // what does not come is told as such
	}()
	return func() { stop(); <-served }, nil
}
