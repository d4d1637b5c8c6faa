package study

import (
	"fmt"
	"slices"
	"strings"
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
func choiceFault(what string, choices []Choice, code string) string {
	if code == "" || slices.ContainsFunc(choices, func(c Choice) bool { return c.Code == code }) {
		return ""
	}
	var codes []string
	for _, c := range choices {
		codes = append(codes, c.Code)
	}
	return fmt.Sprintf("%s %q is none of %s (leave it empty where unknown)", what, code, strings.Join(codes, ", "))
}

func shellFault(mm, headMM float64) string {
	switch {
	case mm == 0:
		return ""
	case !(mm >= MinShellMM && mm <= MaxShellMM):
		return fmt.Sprintf("a shell of %g mm is outside %d to %d mm (leave it empty where unknown)", mm, MinShellMM, MaxShellMM)
	case mm <= headMM:
		return fmt.Sprintf("a shell of %g mm does not hold a head of %g mm", mm, headMM)
	}
	return ""
}
