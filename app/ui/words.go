package ui

import (
	"errors"
	"fmt"
	"image/color"
	"math"
	"strings"

	"linerwatch/app/session"
	"linerwatch/app/study"
	"linerwatch/app/ui/widgets"
	"linerwatch/assets/texts"
)

// say returns the words of a key; values come as name and value.
func say(key string, values ...any) string { return study.Sentence(key, values...) }

// stateColor returns the colour of a film's state; the word always stands beside it.
func stateColor(st session.State) color.RGBA {
	switch st {
	case session.Accepted:
		return widgets.Good
	case session.Proposed, session.Edited:
		return widgets.Watch
	case session.Excluded:
		return widgets.Dim
	case session.Failed, session.Refused:
		return widgets.Fault
	}
	return widgets.Muted
}

// stateText is the state as the strip shows it.
func stateText(f *session.Film) string {
	st := f.State()
	if st == session.Excluded {
		return texts.Say("state.left-out-for", texts.Values{"Code": f.Excluded.Code})
	}
	if st == session.Accepted && f.Accepted != nil {
		return texts.Say("state.accepted-by", texts.Values{"Reader": f.Accepted.Reader, "Missing": f.Unreadable()})
	}
	if st == session.Edited && f.Accepted != nil {
		return texts.Say("state.edited-again", nil)
	}
	switch {
	case st == session.Loading && !f.InHand():
		return session.Waiting.Words()
	case st == session.Searching && !f.InHand():
		return texts.Say("state.to-search", nil)
	}
	return st.Words()
}

// yearsText is the time since surgery in words of the clinic: weeks, months, years.
func yearsText(s *session.Session, f *session.Film) string {
	y, ok := s.Years(f)
	switch {
	case !ok:
		return ""
	case y < 0:
		return say("panel.before-surgery")
	case y < 0.25:
		return say("panel.weeks", "Weeks", y*365.25/7)
	case y < 0.95:
		return say("panel.months", "Months", y*12)
	}
	return say("panel.years", "Years", y)
}

// implantText is the implant in a line.
func implantText(h study.Hip) string {
	parts := []string{say("panel.mm-head", "MM", h.Implant.HeadMM)}
	if h.Implant.LinerMM > 0 {
		parts = append(parts, say("panel.mm-liner", "MM", h.Implant.LinerMM))
	}
	if pe := h.Implant.PE; pe != "" {
		if !strings.HasSuffix(pe, "PE") {
			pe += " PE"
		}
		parts = append(parts, pe)
	}
	return strings.Join(parts, " · ")
}

// mm writes a length with two decimals; never "-0.00".
func mm(v float64) string { return signed(v, 2) }

func signed(v float64, decimals int) string {
	s := fmt.Sprintf("%.*f", decimals, math.Abs(v))
	if v < 0 && strings.Trim(s, "0.") != "" {
		s = "-" + s
	}
	return texts.Number(s)
}

// yearsWord writes "1 year" or "1.5 years".
func yearsWord(y float64) string {
	if y == 1 {
		return say("panel.one-year")
	}
	return say("panel.some-years", "Years", number(y))
}

// figures returns the side panel's lines for film f.
func figures(s *session.Session, f *session.Film) []widgets.Figure {
	n := s.Numbers(f)
	if n.Err != nil {
		return nil
	}
	rows := penetrationFigures(s, f)
	if len(rows) > 0 {
		rows[0].Extra = say("panel.se")
	}
	r := n.Reading
	sup, med := r.Offset.SE()
	rows = append(rows,
		widgets.Figure{Name: say("panel.head-centre-from"), Head: true},
		widgets.Figure{Name: say("panel.superior"), Value: mm(r.Offset.Superior), SE: mm(sup), Unit: "mm"},
		widgets.Figure{Name: say("panel.medial"), Value: mm(r.Offset.Medial), SE: mm(med), Unit: "mm"},
		widgets.Figure{Name: say("panel.eccentricity"), Value: signed(r.Eccentricity, 3), SE: signed(r.SEEccentricity, 3)},
	)
	rows = append(rows, thinnestFigures(s, f, n)...)
	rows = append(rows, orientationFigures(n, f.Draft.RimLeft())...)
	rows = append(rows,
		widgets.Figure{Name: say("panel.scale"), Head: true},
		widgets.Figure{Name: say("panel.from-head"), Value: signed(r.Scale, 5), SE: signed(r.SEScale, 5), Unit: "mm/px"},
	)
	if n.HasMagnify {
		rows = append(rows, widgets.Figure{Name: say("panel.implied-magnification"), Value: "×" + signed(n.Magnification, 3)})
	}
	return append(rows, outlineFigures(s, f)...)
}

// thinnestFigures says to which outline the thinnest path leads: a shell's is its
// outer edge, so that the path crosses liner and metal.
func thinnestFigures(s *session.Session, f *session.Film, n session.Numbers) []widgets.Figure {
	to := say("panel.cup-outline")
	switch n.CupKind {
	case study.Shell:
		to = say("panel.shell-outer-edge")
	case study.Wire:
		to = say("panel.wire-ring")
	}
	r := n.Reading
	rows := []widgets.Figure{
		{Name: say("panel.thinnest-path-from"), Head: true},
		{Name: to, Value: mm(r.Thinnest), SE: mm(r.SEThinnest), Unit: "mm"},
	}
	if left, se, ok := s.LinerLeft(f); ok {
		h, _ := s.Hip()
		rows = append(rows, widgets.Figure{Name: say("panel.liner-left", "MM", h.Implant.LinerMM), Value: mm(left), SE: mm(se), Unit: "mm"})
	}
	return rows
}

// orientationFigures says how the cup lies, where its rim is known; left tells that the
// rim was found before the cup was moved.
func orientationFigures(n session.Numbers, left bool) []widgets.Figure {
	o, ok := n.Orientation()
	if !ok {
		return nil
	}
	rim := ""
	switch {
	case o.Found && left:
		rim = "left"
	case o.Found:
		rim = "found"
	}
	to := say("panel.cup-to-rows", "Rim", rim)
	if o.Line {
		to = say("panel.cup-to-line", "Rim", rim)
	}
	rows := []widgets.Figure{
		{Name: to, Head: true},
		degreesFigure(say("panel.inclination"), o.Inclination, o.SEInclination),
	}
	if o.Version {
		rows = append(rows, degreesFigure(say("panel.version-sign-unknown"), o.Anteversion, o.SEAnteversion))
	}
	return rows
}

// degreesFigure tells an angle in tenths of a degree, and in hundredths where its
// error would read as none.
func degreesFigure(name string, deg, se float64) widgets.Figure {
	decimals := 1
	if se > 0 && se < 0.05 {
		decimals = 2
	}
	return widgets.Figure{Name: name, Value: signed(deg, decimals), SE: signed(se, decimals), Unit: "°"}
}

func penetrationFigures(s *session.Session, f *session.Film) []widgets.Figure {
	p, ok := s.Penetration(f)
	switch {
	case !ok:
		return nil
	case s.Course().IsBaseline(f):
		return []widgets.Figure{
			{Name: say("field.baseline"), Head: true},
			{Name: say("panel.penetration-counted-from")},
		}
	}
	sup, med := p.SE()
	length, se := p.Magnitude()
	base := say("panel.baseline")
	if b, err := s.Trend(); err == nil {
		base = b.Baseline.Date().Format("2006-01-02")
	}
	return []widgets.Figure{
		{Name: say("panel.penetration-since", "Date", base), Head: true},
		{Name: say("panel.superior"), Value: mm(p.Superior), SE: mm(sup), Unit: "mm", Color: widgets.Shift},
		{Name: say("panel.medial"), Value: mm(p.Medial), SE: mm(med), Unit: "mm", Color: widgets.Shift},
		{Name: say("panel.magnitude"), Value: mm(length), SE: mm(se), Unit: "mm", Color: widgets.Shift},
		directionFigure(p.Direction()),
	}
}

// directionFigure tells the direction of the movement in degrees from superior.
func directionFigure(deg float64) widgets.Figure {
	f := widgets.Figure{Name: say("panel.from-superior"), Value: signed(math.Abs(deg), 0) + "°", Extra: say("panel.medial")}
	if deg < 0 {
		f.Extra = say("panel.lateral")
	}
	return f
}

func outlineFigures(s *session.Session, f *session.Film) []widgets.Figure {
	n := s.Numbers(f)
	rows := []widgets.Figure{{Name: say("panel.outlines"), Head: true}}
	rows = append(rows, outlineRows("head", n.Head, widgets.Head)...)
	return append(rows, outlineRows(cupWord(n), n.Cup, widgets.Cup)...)
}

func outlineRows(name string, o session.Outline, c color.RGBA) []widgets.Figure {
	rows := []widgets.Figure{
		{Name: say("panel.radius", "Part", name), Value: signed(o.R, 2), SE: signed(math.Sqrt(o.Cov[2][2]), 2), Unit: "px", Color: c},
	}
	if len(o.Points) == 0 && o.Arc == 0 {
		return append(rows, widgets.Figure{Name: say("panel.edge", "Part", name), Value: say("panel.not-fitted")})
	}
	rows = append(rows, widgets.Figure{
		Name: say("panel.arc-residual", "Part", name), Value: fmt.Sprintf("%.0f°", o.Arc), Extra: signed(o.RMS, 2), Unit: "px",
	})
	if o.Contrast == 0 { // drawn by hand, or read before this was measured
		return rows
	}
	return append(rows, widgets.Figure{
		Name: say("panel.contrast-clipped", "Part", name), Value: fmt.Sprintf("%.3g×", o.Contrast), Extra: fmt.Sprintf("%.0f %%", 100*o.Clipped),
	})
}

func cupWord(n session.Numbers) string {
	if n.CupKind == "" {
		return "cup"
	}
	return string(n.CupKind)
}

// progressText says how far the background work is.
func progressText(s *session.Session) string {
	switch path, done, of := s.Book().Adapting(); {
	case of > 0:
		return say("panel.bringing-readings", "File", study.NameOf(path), "N", done, "Of", of)
	case path != "":
		return say("panel.bringing", "File", study.NameOf(path))
	}
	done, total := s.Work().Progress()
	return say("panel.done", "N", done, "Of", total)
}

// notSaved is what nobody may overlook.
func notSaved() string { return say("panel.not-saved") }

// whereText says where readings go and who reads.
func whereText(s *session.Session) string {
	if l := s.Blind(); l != nil {
		return texts.Say("blind.where", texts.Values{"Reader": l.List().Reader})
	}
	where := say("panel.no-study-file")
	_, known := s.Hip()
	switch p := s.Book().Path(); {
	case p != "":
		where = study.NameOf(p)
		if s.Book().ReadOnly() {
			where = say("panel.read-only", "Study", where)
		}
	case known:
		where = say("panel.no-study", "NotSaved", notSaved())
	}
	if errors.Is(s.Book().Fault(), study.ErrMoved) {
		where += " " + say("panel.has-gone", "NotSaved", notSaved())
	}
	if s.Book().Away() {
		where += " " + say("panel.server-away")
	}
	if r := s.Reader(); r != "" {
		where += " · " + say("panel.where-reader", "Reader", r)
	}
	return where
}
