package report

import (
	"fmt"
	"strings"

	"linerwatch/app/study"
)

// factsText tells the facts of one film to people, a line each.
func factsText(f study.FileFacts) []string {
	if !f.Fault.IsZero() {
		return []string{f.Film, factsLine("not read", study.NoteWords(f.Fault))}
	}
	lines := []string{f.Film}
	say := func(name, value string) {
		if value != "" {
			lines = append(lines, factsLine(name, value))
		}
	}
	say("format", strings.TrimSpace(f.Format+" "+f.Modality))
	say("syntax", syntaxText(f))
	say("characters", strings.Join(f.CharacterSets, `\`))
	say("size", sizeText(f))
	say("stored", storedText(f))
	say("patient", dash(f.Patient))
	say("date", dateText(f))
	say("side", dash(f.Laterality))
	say("view", dash(f.View))
	for _, s := range viewTexts(f) {
		say("view", s)
	}
	if !f.KeptOut.IsZero() {
		say("left out", study.NoteWords(f.KeptOut))
	}
	say("orientation", orientationText(f))
	say("burned in", burnedInText(f))
	for _, s := range spacingTexts(f) {
		say("spacing", s)
	}
	say("scale", scaleText(f))
	say("aspect", ratioText(f))
	say("pixels", squareText(f))
	say("collimated", fieldText(f, "columns %g to %g and rows %g to %g px from the corner of the stored picture"))
	if f.SourceImage > 0 {
		say("source", exact(f.SourceImage)+" mm to the detector")
	}
	if f.SourcePatient > 0 {
		say("source", exact(f.SourcePatient)+" mm to the patient")
	}
	if f.Magnification > 0 {
		say("magnified", exact(f.Magnification)+", Estimated Radiographic Magnification Factor (0018,1114)")
	}
	for _, s := range greyTexts(f.Greys) {
		say("greys", s)
	}
	say("sha256", f.SHA256)
	if f.DuplicateOf != "" {
		say("duplicate", "the same picture as "+f.DuplicateOf)
	}
	for _, s := range study.NotesWords(f.Warnings) {
		say("note", s)
	}
	return lines
}

// viewTexts are the statements of view and part of the body, each with its attribute.
func viewTexts(f study.FileFacts) (out []string) {
	for _, v := range f.Views {
		out = append(out, v.Said+", "+v.By)
	}
	return out
}

// fieldText tells the edges of the collimated field, "" where the file does not.
func fieldText(f study.FileFacts, format string) string {
	if f.Field == ([4]float64{}) {
		return ""
	}
	return fmt.Sprintf(format, f.Field[0], f.Field[1], f.Field[2], f.Field[3])
}

func factsLine(name, value string) string { return fmt.Sprintf("  %-11s %s", name, value) }

func syntaxText(f study.FileFacts) string {
	if f.TransferSyntax == "" {
		return ""
	}
	s := f.TransferSyntax
	if f.SyntaxName != "" && f.SyntaxName != s {
		s = fmt.Sprintf("%s (%s)", f.SyntaxName, s)
	}
	if f.Lossy {
		s += ", compressed with loss"
	}
	return s
}

func sizeText(f study.FileFacts) string {
	s := fmt.Sprintf("%d x %d px", f.Width, f.Height)
	if f.Frames > 1 {
		s += fmt.Sprintf(", frame %d of %d", f.Frame, f.Frames)
	}
	return s
}

func storedText(f study.FileFacts) string {
	s := fmt.Sprintf("%d bits", f.Bits)
	if f.Allocated > 0 {
		s = fmt.Sprintf("%d of %d bits, high bit %d", f.Bits, f.Allocated, f.HighBit)
	}
	if f.Signed {
		s += ", signed"
	} else {
		s += ", unsigned"
	}
	return s + ", " + dash(f.Photometric)
}

// dateText tells the film's date and those that differ from it.
func dateText(f study.FileFacts) string {
	s := dash(day(f.Date))
	if f.DateSource != "" {
		s += " (" + f.DateSource + " date)"
	}
	for _, d := range f.Dates {
		if d.Source != f.DateSource && !d.Date.Equal(f.Date) {
			s += fmt.Sprintf("; the %s date is %s", d.Source, day(d.Date))
		}
	}
	return s
}

func orientationText(f study.FileFacts) string {
	if f.Orientation == [2]string{} {
		return "not stated: taken as it is"
	}
	how := "brought upright: " + study.NoteWords(f.Upright)
	if f.Upright.IsZero() {
		how = "not of a film from front or back: taken as it is"
	}
	return fmt.Sprintf(`%s\%s, %s`, f.Orientation[0], f.Orientation[1], how)
}

func burnedInText(f study.FileFacts) string {
	switch f.BurnedIn {
	case "":
		return "not stated: there may be text in the picture"
	case "YES":
		return "YES: there is text in the picture"
	}
	return f.BurnedIn
}

func spacingTexts(f study.FileFacts) (out []string) {
	for _, s := range f.Spacings {
		one := fmt.Sprintf("%s x %s mm (%s)", exact(s.Row), exact(s.Column), s.Kind)
		if s.Name != "" {
			one += " " + s.Name
		}
		if s.Used {
			one += ", used"
		}
		out = append(out, one)
	}
	return out
}

func scaleText(f study.FileFacts) string {
	s := study.NoteWords(f.SpacingReason)
	if f.CheckedAgainst != "" {
		s += "; the magnification is checked against " + f.CheckedAgainst
	}
	return s
}

func ratioText(f study.FileFacts) string {
	if f.AspectRatio == [2]float64{} {
		return ""
	}
	return exact(f.AspectRatio[0]) + `\` + exact(f.AspectRatio[1])
}

// squareText tells what is done to pixels that are not square.
func squareText(f study.FileFacts) string {
	if f.Square.IsZero() || f.Square.Code == study.AsItIs {
		return ""
	}
	return "not square: shown and measured " + study.NoteWords(f.Square)
}

// greyTexts tells how the file wants its values shown.
func greyTexts(g study.Greys) (out []string) {
	if g.Slope != 0 {
		out = append(out, fmt.Sprintf("rescaled by %s, then %s added", exact(g.Slope), exact(g.Intercept)))
	}
	if g.ModalityEntries > 0 {
		out = append(out, fmt.Sprintf("modality table of %d entries", g.ModalityEntries))
	}
	for _, w := range windowTexts(g) {
		out = append(out, "window "+w)
	}
	for _, t := range tableTexts(g) {
		out = append(out, "table "+t)
	}
	if g.Shape != "" {
		out = append(out, "presentation "+g.Shape)
	}
	if p := paddingText(g); p != "" {
		out = append(out, "padding "+p)
	}
	return out
}

func windowTexts(g study.Greys) (out []string) {
	for _, w := range g.Windows {
		s := fmt.Sprintf("%s wide at %s, %s", exact(w.Width), exact(w.Center), w.Function)
		if w.Name != "" {
			s += ", " + w.Name
		}
		out = append(out, s)
	}
	return out
}

func tableTexts(g study.Greys) (out []string) {
	for _, t := range g.Tables {
		s := fmt.Sprintf("of %d entries of %d bits from %d", t.Entries, t.Bits, t.First)
		if t.Name != "" {
			s += ", " + t.Name
		}
		out = append(out, s)
	}
	return out
}

func paddingText(g study.Greys) string {
	switch p := g.Padding; {
	case p == nil:
		return ""
	case p[0] == p[1]:
		return fmt.Sprint(p[0])
	default:
		return fmt.Sprintf("%d to %d", p[0], p[1])
	}
}
