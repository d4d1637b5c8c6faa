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
