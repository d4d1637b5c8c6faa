package main

import (
	"crypto/sha256"
	"encoding/gob"
	"encoding/json"
	"fmt"
	"image"
	"os"
	"path/filepath"

	"linerwatch/measure/phantom/chance"
)

// develop returns a drawn film, from the cache where it is there.
func (c config) develop(f chance.Film) (*image.Gray16, error) {
	if c.cache == "" {
		return f.Develop()
	}
	key, err := json.Marshal([]any{f.Scene, f.Recipe})
	if err != nil {
		return nil, err
	}
	name := filepath.Join(c.cache, fmt.Sprintf("%x", sha256.Sum256(key))[:24]+".gob")
	if f, err := os.Open(name); err == nil {
		defer f.Close()
		img := new(image.Gray16)
		if err := gob.NewDecoder(f).Decode(img); err != nil {
			return nil, fmt.Errorf("%s: %w", name, err)
		}
		return img, nil
	}
	img, err := f.Develop()
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
