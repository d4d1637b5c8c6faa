package ui

import (
	"bytes"
	"errors"
	"image"
	"image/draw"
	"image/png"
	"io"
	"io/fs"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/widget"
	"golang.design/x/clipboard"

	"linerwatch/app/report"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
)

// pictureTimes is how many pixels a saved chart has for each that is shown, on each side:
// letters of it can be read in print.
const pictureTimes = 3

// offersPicture has the other mouse button offer to copy or to save a chart.
func (w *window) offersPicture(c *widgets.Chart, suffix string) {
	c.OnMenu = func(at fyne.Position) {
		widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", w.pictureItems(c, suffix)...), w.win.Canvas(), at)
	}
}

func (w *window) pictureItems(c *widgets.Chart, suffix string) []*fyne.MenuItem {
	picture := func() image.Image {
		if !c.Visible() {
			return nil
		}
		return c.Picture(pictureTimes)
	}
	return []*fyne.MenuItem{
		fyne.NewMenuItem(say("button.copy-picture"), func() { w.copyPicture(picture()) }),
		fyne.NewMenuItem(say("button.save-picture"), func() { w.askPicture(suffix, picture()) }),
	}
}

// handingOut puts buttons below the panel beside a chart: they copy or save it, or print what
// the page tells of.
func (w *window) handingOut(side fyne.CanvasObject, c *widgets.Chart, suffix string) fyne.CanvasObject {
	row := container.NewGridWithColumns(2)
	for _, i := range w.pictureItems(c, suffix) {
		row.Add(widget.NewButton(i.Label, i.Action))
	}
	buttons := container.New(layout.NewCustomPaddedLayout(4, 8, 8, 8), container.NewVBox(row, widget.NewButton(say("page.patient.print"), w.print)))
	return container.NewBorder(nil, container.NewStack(canvas.NewRectangle(widgets.Surface), buttons), nil, nil, side)
}

// copyPicture puts a picture on the clipboard of the system, and says so, or why it cannot.
func (w *window) copyPicture(img image.Image, about ...string) {
	if img == nil {
		w.s.Say("%s", say("writing.there-no-picture"))
		return
	}
	var b bytes.Buffer
	err := png.Encode(&b, img)
	if err == nil {
		err = w.clip(b.Bytes())
	}
	if err != nil {
		w.s.Say("%s", say("writing.not-copied", "Why", err.Error()))
		return
	}
	w.s.Say("%s", strings.Join(append([]string{say("writing.copied", "Wide", img.Bounds().Dx(), "High", img.Bounds().Dy())}, about...), " "))
}

// clipPNG puts a picture on the clipboard of the system; the toolkit's holds text alone.
func clipPNG(png []byte) error {
	if err := clipboard.Init(); err != nil {
		first, _, _ := strings.Cut(err.Error(), "\n")
		return errors.New(first)
	}
	if clipboard.Write(clipboard.FmtImage, png) == nil { // it tells no more
		return study.NewError("writing.no-clipboard", nil)
	}
	return nil
}

// saveFilm asks where the film goes as it is shown, with what is drawn over it.
func (w *window) saveFilm(v *viewer) {
	if img := w.filmShown(v); img != nil {
		w.askPicture("-film", img, say("writing.film-saved-as"))
	}
}

// copyFilm copies the film as it is shown, with what is drawn over it.
func (w *window) copyFilm(v *viewer) {
	if img := w.filmShown(v); img != nil {
		w.copyPicture(img, say("writing.film-copied-as"))
	}
}

// filmShown is the film as it is shown; nil while none is.
func (w *window) filmShown(v *viewer) image.Image {
	f := w.s.Strip().Selected()
	if f == nil || v.seen.X == 0 {
		return nil
	}
	shown := v.draw(v.seen.X, v.seen.Y, v.scale)
	img := image.NewRGBA(shown.Bounds()) // the next frame is drawn into the same picture
	draw.Draw(img, img.Rect, shown, img.Rect.Min, draw.Src)
	return img
}

// askPicture asks where a picture goes, and writes it as PNG. Of none it returns nil.
func (w *window) askPicture(suffix string, img image.Image, about ...string) *writing {
	if img == nil {
		w.s.Say("%s", say("writing.there-no-picture"))
		return nil
	}
	about = append(about, say("writing.png", "Wide", img.Bounds().Dx(), "High", img.Bounds().Dy()))
	return w.askFile(say("writing.save-picture"), w.beside(suffix+".png"), about, func(to *writing, path string, over report.Over) {
		if !strings.EqualFold(filepath.Ext(path), ".png") {
			to.ended("", errors.New(say("writing.name-picture")))
			return
		}
		err := report.SaveFile(path, over, func(out io.Writer) error { return png.Encode(out, img) })
		if err == nil {
			fyne.CurrentApp().Clipboard().SetContent(path)
		}
		to.ended(say("writing.on-clipboard", "Path", path), err)
	})
}

// askFile asks for a file and hands it to write, with over once the reader has said that one
// that is there may go.
func (w *window) askFile(title, path string, about []string, write func(to *writing, path string, over report.Over), more ...fyne.CanvasObject) *writing {
	over := report.KeepOld
	var to *writing
	to = w.askPlace(title, say("writing.file"), path, about, func(_ *writing, path string) {
		was := over
		over = report.KeepOld
		to.write.SetText(title)
		to.exists = func() {
			over = report.Replace
			to.write.SetText(say("writing.write-over"))
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
		to.done(widget.WarningImportance, say("writing.there-already"))
	case err != nil:
		to.done(widget.DangerImportance, say("writing.failed", "Why", study.Told(err)))
	default:
		to.done(widget.MediumImportance, text)
	}
}
