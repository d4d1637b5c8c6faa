package ui

import (
	"image/color"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/layout"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"linerwatch/app/session"
	"linerwatch/app/study"
)

// remarks is a list of what should be weighed, below its title; hidden where it is
// empty.
type remarks struct {
	object *fyne.Container
	lines  *fyne.Container
	said   []string
}

// newRemarks returns an empty list, with an edge of a colour where it is to be seen.
func newRemarks(title string, edge color.Color) *remarks {
	r := &remarks{lines: container.New(layout.NewCustomPaddedVBoxLayout(-6))}
	box := container.New(layout.NewCustomPaddedVBoxLayout(-4), bold(title), r.lines)
	r.object = container.NewStack(box)
	if edge != nil {
		bar := canvas.NewRectangle(edge)
		bar.SetMinSize(fyne.NewSize(3, 0))
		r.object = container.NewStack(container.NewBorder(nil, nil, bar, nil, box))
	}
	r.object.Hide()
	return r
}

func (r *remarks) set(list []string) {
	show(r.object, len(list) > 0)
	if slices.Equal(list, r.said) {
		return
	}
	r.said = list
	r.lines.Objects = nil
	for _, text := range list {
		l := note("– " + text)
		l.Importance = widget.MediumImportance
		l.SizeName = theme.SizeNameCaptionText
		r.lines.Add(l)
	}
	r.object.Refresh()
}

// remarks returns what should be weighed of a film: what puts its outlines in doubt,
// and what is to be known of its file, of how it was read, and of the series.
func (p *side) remarks(f *session.Film) (first, after []string) {
	s := p.w.s
	n := s.Numbers(f)
	unused := 0
	for _, w := range n.Remarks() {
		switch {
		case w.Code == study.WarnMagnified && s.Doubt(f) != "": // stands above, with what to do
		case study.OfOutlines(w):
			first = append(first, study.WarningWords(w))
		case w.Code == study.WarnFile:
			unused++
		default:
			after = append(after, plainRemark(w))
		}
	}
	if text := unusedText(unused); text != "" {
		after = append(after, text)
	}
	t, err := s.Trend()
	if err != nil {
		if n.Err == nil && spoils(f, err) {
			first = append(first, study.Told(err))
		}
		return first, after
	}
	after = append(after, study.NotesWords(t.Warnings)...)
	if words := s.Course().BaselineWords(); words != "" {
		after = append([]string{words}, after...)
	}
	return first, after
}

// unusedText says that the file holds statements that are odd. They are written for
// those who know the file's format, and stand in the details.
func unusedText(n int) string {
	switch n {
	case 0:
		return ""
	case 1:
		return say("panel.one-entry-file")
	}
	return say("panel.entries-file-not", "N", n)
}

// plainRemark is a warning in the words of those who read films.
func plainRemark(w study.Warning) string {
	if w.Code == study.WarnSpacing {
		return say("panel.file-does-not")
	}
	return study.WarningWords(w)
}
