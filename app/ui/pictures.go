package ui

import (
	"errors"
	"fmt"
	"image"
	"image/draw"
	"image/png"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// pictureTimes is how many pixels a saved chart has for each that is shown, on each side:
// letters of it can be read in print.
const pictureTimes = 3

// offersPicture has the other mouse button offer to save a chart.
func (w *window) offersPicture(c *widgets.Chart, suffix string) {
	c.OnMenu = func(at fyne.Position) {
		item := fyne.NewMenuItem("Save picture …", func() { w.askPicture(suffix, c.Picture(pictureTimes)) })
		widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", item), w.win.Canvas(), at)
	}
}

// saveFilm asks where the film goes as it is shown, with what is drawn over it.
func (w *window) saveFilm(v *viewer) {
	f := w.s.Strip().Selected()
	if f == nil || v.seen.X == 0 {
		return
	}
	shown := v.draw(v.seen.X, v.seen.Y, v.scale)
	img := image.NewRGBA(shown.Bounds()) // the next frame is drawn into the same picture
	draw.Draw(img, img.Rect, shown, img.Rect.Min, draw.Src)
	w.askPicture("-film", img, "The film is saved as it is shown. Letters in it may say who the patient is: look at them before it leaves the house.")
}

// askPicture asks where a picture goes, and writes it as PNG. Of none it returns nil.
func (w *window) askPicture(suffix string, img image.Image, about ...string) *writing {
	if img == nil {
		w.s.Say("There is no picture to save yet.")
		return nil
	}
	about = append(about, fmt.Sprintf("PNG, %d × %d pixels. Its name goes to the clipboard, which holds text alone: the picture itself cannot be copied.",
		img.Bounds().Dx(), img.Bounds().Dy()))
	return w.askFile("Save picture", w.beside(suffix+".png"), about, func(to *writing, path string, over report.Over) {
		if !strings.EqualFold(filepath.Ext(path), ".png") {
			to.ended("", errors.New("name it FILE.png"))
			return
		}
		err := report.SaveFile(path, over, func(out io.Writer) error { return png.Encode(out, img) })
		if err == nil {
			fyne.CurrentApp().Clipboard().SetContent(path)
		}
		to.ended("Written to "+path+". Its name is on the clipboard.", err)
	})
}

// askFile asks for a file and hands it to write, with over once the reader has said that one
// that is there may go.
func (w *window) askFile(title, path string, about []string, write func(to *writing, path string, over report.Over), more ...fyne.CanvasObject) *writing {
	over := report.KeepOld
	var to *writing
	to = w.askPlace(title, "File", path, about, func(_ *writing, path string) {
		was := over
		over = report.KeepOld
		to.write.SetText(title)
		to.exists = func() {
			over = report.Replace
			to.write.SetText("Write over it")
		}
		write(to, path, was)
	}, more...)
	to.dir.OnChanged = func(string) { // another file is asked about anew
		over = report.KeepOld
		to.write.SetText(title)
	}
	return to
}

// ended says what became of a file.
func (to *writing) ended(text string, err error) {
	switch {
	case errors.Is(err, fs.ErrExist):
		if to.exists != nil {
			to.exists()
		}
		to.done(widget.WarningImportance, "Not written: there is such a file already. Name another one, or write over it.")
	case err != nil:
		to.done(widget.DangerImportance, "Not written: "+study.Told(err)+".")
	default:
		to.done(widget.MediumImportance, text)
	}
}
