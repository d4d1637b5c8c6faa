package study

import (
	"fmt"
	"image"
	"strings"
)

// Black are the parts of a film's picture that a person has marked since they tell who it is of:
// they are black wherever the film is read blind, and in the copies that the window writes. In pixels as the film's file
// holds them, each as "x y width height", with semicolons between; a text, so that what is given of
// a film can be compared.
type Black string

// BlackOf returns parts as they are kept.
func BlackOf(parts []image.Rectangle) Black {
	var list []string
	for _, r := range parts {
		r = r.Canon()
		list = append(list, fmt.Sprintf("%d %d %d %d", r.Min.X, r.Min.Y, r.Dx(), r.Dy()))
	}
	return Black(strings.Join(list, "; "))
}

// Parts returns them.
func (b Black) Parts() (parts []image.Rectangle, err error) {
	if b == "" {
		return nil, nil
	}
	for text := range strings.SplitSeq(string(b), "; ") {
		var x, y, w, h int
		var rest string
		if n, _ := fmt.Sscanf(text, "%d %d %d %d%s", &x, &y, &w, &h, &rest); n != 4 || w <= 0 || h <= 0 {
			return nil, NewError("black.kept", Values{"Text": text})
		}
		parts = append(parts, image.Rect(x, y, x+w, y+h))
	}
	return parts, nil
}
