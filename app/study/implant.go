package study

import (
	"slices"
	"strings"

	"linerwatch/assets/texts"
)

// The limits of what is entered of an implant: a shell's and a liner's outer diameter, mm,
// and a dose. They catch slips of the keyboard. Common practice, no source.
const (
	MinShellMM = 36
	MaxShellMM = 80

	MaxLinerOuterMM = MaxShellMM
	MaxDoseKGy      = 300
)

// Choice is a code that a study keeps, with the words that are shown for it.
type Choice struct{ Code, Words string }

// Answer is Yes, No or, where it is not known, empty.
type Answer string

// Answers lists the answers that are known.
func Answers() []Choice {
	return []Choice{{Yes, texts.Say("answer.yes", nil)}, {No, texts.Say("answer.no", nil)}}
}

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

// Stabilisers lists what polyethylene is kept from oxidation by.
func Stabilisers() []Choice {
	return []Choice{
		{"none", texts.Say("stabiliser.none", nil)},
		{"vitamin E", texts.Say("stabiliser.vitamin-E", nil)},
		{"other", texts.Say("stabiliser.other", nil)},
	}
}

// faults are those of all but the head's diameter.
func (m Implant) faults() []Fault {
	return []Fault{
		{"material", choiceFault("fault.material", HeadMaterials(), m.HeadMaterial)},
		{"liner", linerFault(m.LinerMM)},
		{"PE", choiceFault("fault.polyethylene", PEKinds(), m.PE)},
		{"shell", shellFault(m.ShellMM, m.HeadMM)},
		{"fixation", choiceFault("fault.fixation", Fixations(), m.Fixation)},
		{"liner inside", m.insideFault()},
		{"liner outside", m.outsideFault()},
		{"dose", within("fault.dose", m.DoseKGy, 1, MaxDoseKGy)},
		{"irradiated", m.irradiationFault()},
		{"stabiliser", choiceFault("fault.stabiliser", Stabilisers(), m.Stabiliser)},
		{"lip", choiceFault("fault.answer", Answers(), string(m.Lipped))},
	}
}

func (m Implant) irradiationFault() Note {
	if m.Irradiated == No && m.DoseKGy != 0 {
		return Note{Code: "fault.dose-of-none", Values: texts.Values{"KGy": m.DoseKGy}}
	}
	return choiceFault("fault.answer", Answers(), string(m.Irradiated))
}

func (m Implant) insideFault() Note {
	if v := m.LinerInnerMM; v != 0 && m.HeadMM != 0 && v < m.HeadMM {
		return Note{Code: "fault.small-liner", Values: texts.Values{"MM": v, "Head": m.HeadMM}}
	}
	return within("fault.liner-inside", m.LinerInnerMM, MinHeadMM, MaxHeadMM+1)
}

func (m Implant) outsideFault() Note {
	switch v := m.LinerOuterMM; {
	case v == 0:
		return Note{}
	case v <= m.LinerInnerMM || v <= m.HeadMM:
		return Note{Code: "fault.thin-liner", Values: texts.Values{"MM": v, "Inside": max(m.LinerInnerMM, m.HeadMM)}}
	case m.ShellMM != 0 && v > m.ShellMM:
		return Note{Code: "fault.wide-liner", Values: texts.Values{"MM": v, "Shell": m.ShellMM}}
	}
	return within("fault.liner-outside", m.LinerOuterMM, MinHeadMM, MaxLinerOuterMM)
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

// ChoiceIn returns the words of a code of a topic of texts, as "material", in the language of
// say; the code itself where it has none.
func ChoiceIn(say Say, topic, code string) string {
	if code == "" {
		return ""
	}
	key := topic + "." + strings.ReplaceAll(code, " ", "-")
	if words := say(key, nil); words != key {
		return words
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
