package main

import (
	"crypto/sha256"
	"encoding/gob"
	"fmt"
	"image"
	"os"
	"path/filepath"

	"linerwatch/measure/phantom"
)

// render returns the film of a scene, from the cache where there is one.
func (c config) render(s phantom.Scene) (*image.Gray16, error) {
	if c.cache == "" {
		return phantom.Render(s)
	}
	name := filepath.Join(c.cache, fmt.Sprintf("%x.gob", sha256.Sum256(fmt.Appendf(nil, "%+v", s)))[:16])
	if f, err := os.Open(name); err == nil {
		defer f.Close()
		img := new(image.Gray16)
		if err := gob.NewDecoder(f).Decode(img); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		return img, nil
	}
	img, err := phantom.Render(s)
	if err != nil {
		return nil, err
	}
	return img, c.keep(name, img)
}

func (c config) keep(name string, img *image.Gray16) error {
	f, err := os.CreateTemp(c.cache, "film")
	if err != nil {
		return err
	}
	err = gob.NewEncoder(f).Encode(img)
	if again := f.Close(); err == nil {
		err = again
	}
	if err != nil {
		return err
	}
	return os.Rename(f.Name(), name)
}
