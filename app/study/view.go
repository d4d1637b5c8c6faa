package study

// View is how a film was taken.
type View string

// The views. A film that says nothing is taken as AP.
const (
	AP      View = "AP"
	Lateral View = "lateral" // cross-table
)

// ViewOf returns the view that View Position (0018,5101) stands for: AP and PA
// films show the same plane, LL, RL and LATERAL are lateral. Other words, such
// as those of oblique views, are not known here.
func ViewOf(position string) View {
	switch position {
	case "AP", "PA":
		return AP
	case "LL", "RL", "LATERAL", "LAT":
		return Lateral
	}
	return ""
}

// OtherView returns what is said of the view that View Position (0018,5101) stands for where it
// is none that is read: a defined term of PS3.3 C.8.1.1 for oblique or decubitus films,
// or a word for a view that shows head and cup from another side (common practice, no
// source). It says nothing for all other words, which say too little to keep a film out.
func OtherView(position string) Note {
	switch position {
	case "RLO", "LLO", "OBLIQUE", "OBL":
		return Note{Code: "view.oblique"}
	case "RLD", "LLD", "DECUB":
		return Note{Code: "view.decubitus"}
	case "AXIAL", "AX", "FROG", "FROGLEG", "FROG LEG":
		return Note{Code: "view.axial"}
	}
	return Note{}
}
