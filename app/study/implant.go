package study

import (
	"slices"
	"strings"

	"linerwatch/assets/texts"
)

// The limits of a shell's outer diameter, mm; they catch slips of the keyboard.
// Common practice, no source.
const (
	MinShellMM = 36
	MaxShellMM = 80
)

// Choice is a code that a study keeps, with the words that are shown for it.
type Choice struct{ Code, Words string }

// HeadMaterials lists what heads are made of.
func HeadMaterials() []Choice {
	return []Choice{
		{"CoCr", "cobalt-chrome"},
		{"steel", "stainless steel"},
		{"alumina", "alumina ceramic"},
		{"ZTA", "zirconia-toughened alumina ceramic"},
		{"zirconia", "zirconia ceramic"},
		{"OxZr", "oxidised zirconium"},
		{"other", "another material"},
	}
}

// Fixations lists how a cup is held in the bone.
func Fixations() []Choice {
	return []Choice{
		{"uncemented", "metal shell without cement"},
		{"cemented", "cemented cup"},
	}
}

// PEKinds lists the kinds of polyethylene.
func PEKinds() []Choice {
	return []Choice{
		{"XLPE", "highly cross-linked"},
		{"conventional", "conventional"},
	}
}

// Words returns the words of a code among choices, or the code itself.
func Words(choices []Choice, code string) string {
	for _, c := range choices {
		if c.Code == code {
			return c.Words
		}
	}
	return code
}

// choiceFault refuses a code that is none of choices; an empty one is allowed.
func choiceFault(fault string, choices []Choice, code string) Note {
	if code == "" || slices.ContainsFunc(choices, func(c Choice) bool { return c.Code == code }) {
		return Note{}
	}
	var codes []string
	for _, c := range choices {
		codes = append(codes, c.Code)
	}
	return Note{Code: fault, Values: texts.Values{"Code": code, "Codes": strings.Join(codes, ", ")}}
}

func shellFault(mm, headMM float64) Note {
	switch {
	case mm == 0:
		return Note{}
	case !(mm >= MinShellMM && mm <= MaxShellMM):
		return outside("fault.shell", mm, MinShellMM, MaxShellMM)
	case mm <= headMM:
		return Note{Code: "fault.small-shell", Values: texts.Values{"MM": mm, "Head": headMM}}
	}
	return Note{}
}
