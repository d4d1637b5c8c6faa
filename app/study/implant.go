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
		{"CoCr", texts.Say("material.CoCr", nil)},
		{"steel", texts.Say("material.steel", nil)},
		{"alumina", texts.Say("material.alumina", nil)},
		{"ZTA", texts.Say("material.ZTA", nil)},
		{"zirconia", texts.Say("material.zirconia", nil)},
		{"OxZr", texts.Say("material.OxZr", nil)},
		{"other", texts.Say("material.other", nil)},
	}
}

// HeadWords says what a head is made of, in the words that stand before "head".
func HeadWords(material string) string {
	switch material {
	case "alumina":
		return texts.Say("head.alumina", nil)
	case "ZTA":
		return texts.Say("head.ZTA", nil)
	case "zirconia":
		return texts.Say("head.zirconia", nil)
	}
	return Words(HeadMaterials(), material)
}

// Fixations lists how a cup is held in the bone.
func Fixations() []Choice {
	return []Choice{
		{"uncemented", texts.Say("fixation.uncemented", nil)},
		{"cemented", texts.Say("fixation.cemented", nil)},
	}
}

// PEKinds lists the kinds of polyethylene.
func PEKinds() []Choice {
	return []Choice{
		{"XLPE", texts.Say("polyethylene.XLPE", nil)},
		{"conventional", texts.Say("polyethylene.conventional", nil)},
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
