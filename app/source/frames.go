package source

import (
	"os"
	"strconv"
	"strings"

	"linerwatch/dicomio"
)

// A frame of a file that has several is a film by the name FILE#N, N counted from 1. A file
// that is called so itself goes before.

// framed parts the name of a film into its file and the frame in it; frame is 0 for a name
// that tells none.
func framed(film string) (file string, frame int) {
	i := strings.LastIndexByte(film, '#')
	if i < 1 {
		return film, 0
	}
	n, err := strconv.Atoi(film[i+1:])
	if err != nil || n < 1 || strconv.Itoa(n) != film[i+1:] {
		return film, 0
	}
	if _, err := os.Lstat(film); err == nil {
		return film, 0
	}
	return film[:i], n
}

// FileOf returns the file that a film is in.
func FileOf(film string) string {
	file, _ := framed(film)
	return file
}

// FrameOf returns the film of one frame of a file.
func FrameOf(file string, frame int) string { return file + "#" + strconv.Itoa(frame) }

// Films replaces names that stand for several films by the names of those, as Expand does,
// and files of several frames that are films by those of their frames.
func Films(names []string) []File { return EachFrame(Expand(names)) }

// EachFrame replaces files of several frames that are films by those of their frames.
func EachFrame(files []File) []File {
	var out []File
	for _, file := range files {
		n := 1
		if by, ok := of(file.Path).(interface{ Frames(file string) int }); ok && file.Fault.IsZero() {
			n = by.Frames(file.Path)
		}
		if n < 2 {
			out = append(out, file)
			continue
		}
		for frame := range n {
			out = append(out, File{Path: FrameOf(file.Path, frame+1)})
		}
	}
	return out
}

// Only returns one frame, counted from 1, of every film that names stand for; 0 stands for
// what Films returns.
func Only(names []string, frame int) []File {
	if frame == 0 {
		return Films(names)
	}
	out := Expand(names)
	for i, file := range out {
		if f, err := dicomio.Inspect(file.Path); file.Fault.IsZero() && (frame > 1 || err == nil && f.Frames > 1) {
			out[i].Path = FrameOf(file.Path, frame)
		}
	}
	return out
}

// Frames returns how many films a file holds; 1 where it cannot be told, since opening it
// will say why.
func (Folder) Frames(file string) int {
	if _, frame := framed(file); frame > 0 {
		return 1
	}
	f, err := dicomio.Inspect(file)
	if err != nil {
		return 1
	}
	return f.Films()
}
