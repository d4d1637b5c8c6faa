package main

import (
	"bufio"
	"encoding/csv"
	"errors"
	"fmt"
	"image"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"linerwatch/measure/phantom/chance"
)

// startOff is the standard deviation along each axis of the starts that other
// programs are given, mm.
const startOff = 1.5

// exported are the columns of the table beside exported films. Lengths are px
// of the film but for mm, which is mm per px at the hip.
var exported = []string{
	"film", "class", "part", "mm",
	"head_x", "head_y", "head_r", "cup_x", "cup_y", "cup_r",
	"start_x", "start_y", "head_least", "head_most", "cup_least", "cup_most",
	"ours_head_x", "ours_head_y", "ours_head_r", "ours_cup_x", "ours_cup_y", "ours_cup_r", "ours_ms",
}

// export writes the first film of each hip as a grey map for other programs to
// measure, and films.csv: the truth, a start a few mm off, the ranges of the
// radii, and what Detect finds, one film at a time. Detect is not told the start.
func export(c config) (err error) {
	todo, err := c.draw()
	if err != nil {
		return err
	}
	f, err := os.Create(filepath.Join(c.out, "films.csv"))
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	table := csv.NewWriter(f)
	if err := table.Write(exported); err != nil {
		return err
	}
	for _, d := range todo {
		row, err := c.exportFilm(d)
		if err != nil {
			return fmt.Errorf("hip %d: %w", d.Number, err)
		}
		if err := table.Write(row); err != nil {
			return err
		}
	}
	table.Flush()
	return table.Error()
}

// exportFilm writes the first film of a hip and returns its row of the table.
func (c config) exportFilm(d chance.Hip) ([]string, error) {
	f, err := c.ownFilm(d, 0)
	if err != nil {
		return nil, err
	}
	p, err := f.load()
	if err != nil {
		return nil, err
	}
	name := fmt.Sprintf("%03d.pgm", d.Number)
	if err := writeGreyMap(filepath.Join(c.out, name), p.img); err != nil {
		return nil, err
	}
	class, _, _ := strings.Cut(d.Class(), " ")
	part := "crop"
	if d.Whole {
		part = "whole"
	}
	truth, mm, spacing := *f.truth, f.truth.mm, d.Films[0].Scene.Spacing
	ask := f.search
	ask.spacing = spacing
	rng := rand.New(rand.NewPCG(c.seed, 2<<32+uint64(d.Number)))
	// A hip is magnified 1.05 to 1.35 times; shells have 40 to 70 mm.
	px := func(mm, magnified float64) float64 { return mm / 2 * magnified / spacing }
	row := []string{name, class, part}
	for _, v := range []float64{
		mm, truth.head.X, truth.head.Y, truth.head.R, truth.cup.X, truth.cup.Y, truth.cup.R,
		truth.head.X + startOff/mm*rng.NormFloat64(), truth.head.Y + startOff/mm*rng.NormFloat64(),
		px(d.HeadMM, 1.05), px(d.HeadMM, 1.35), px(40, 1.05), px(70, 1.35),
	} {
		row = append(row, strconv.FormatFloat(v, 'f', 4, 64))
	}
	found, refused, spent, err := measured(p.img, ask)
	switch {
	case err != nil:
		return nil, err
	case refused != "":
		row = append(row, "", "", "", "", "", "")
	default:
		n := nearest(found, truth.head)
		for _, v := range []float64{n.head.X, n.head.Y, n.head.R, n.cup.X, n.cup.Y, n.cup.R} {
			row = append(row, strconv.FormatFloat(v, 'f', 4, 64))
		}
	}
	return append(row, strconv.FormatFloat(spent.Seconds()*1000, 'f', 1, 64)), nil
}

// writeGreyMap writes a film as a portable grey map of 16 bits.
func writeGreyMap(name string, img *image.Gray16) (err error) {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, f.Close()) }()
	w := bufio.NewWriter(f)
	size := img.Bounds().Size()
	if _, err := fmt.Fprintf(w, "P5\n%d %d\n65535\n", size.X, size.Y); err != nil {
		return err
	}
	for y := range size.Y {
		if _, err := w.Write(img.Pix[y*img.Stride : y*img.Stride+2*size.X]); err != nil {
			return err
		}
	}
	return w.Flush()
}
