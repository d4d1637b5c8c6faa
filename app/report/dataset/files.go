package dataset

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"hash"
	"io"
)

// files are those of the package, on their way.
type files struct {
	create Create
	begun  map[string]*file
	list   []*file // in the order in which they were begun
}

// file is a file with what datapackage.json says of it.
type file struct {
	name  string
	to    io.WriteCloser
	buf   *bufio.Writer
	sum   hash.Hash
	bytes int64
}

func (f *files) open(name string) error {
	to, err := f.create(name)
	if err != nil {
		return err
	}
	if f.begun == nil {
		f.begun = map[string]*file{}
	}
	one := &file{name: name, to: to, sum: sha256.New()}
	one.buf = bufio.NewWriterSize(io.MultiWriter(to, one.sum), 1<<16)
	f.begun[name], f.list = one, append(f.list, one)
	return nil
}

func (f *files) write(name string, text []byte) error {
	one := f.begun[name]
	one.bytes += int64(len(text))
	_, err := one.buf.Write(text)
	return err
}

// whole writes a file at once.
func (f *files) whole(name string, text []byte) error {
	if err := f.open(name); err != nil {
		return err
	}
	return f.write(name, text)
}

// hash hands over what waits of a file and returns its SHA-256.
func (f *files) hash(name string) (string, error) {
	one := f.begun[name]
	err := one.buf.Flush()
	return hex.EncodeToString(one.sum.Sum(nil)), err
}

func (f *files) size(name string) int64 { return f.begun[name].bytes }

// close ends all files, of which the first error is told: a disk that is full is one thing.
func (f *files) close() (err error) {
	for _, one := range f.list {
		for _, end := range []func() error{one.buf.Flush, one.to.Close} {
			if failed := end(); err == nil {
				err = failed
			}
		}
	}
	return err
}
