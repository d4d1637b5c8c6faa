package report

import "runtime/debug"

// Program names the program by its version and, where the build knows it, the commit that it
// was built of.
func Program(version string) string {
	name := "Linerwatch " + version
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return name
	}
	for _, s := range info.Settings {
		switch {
		case s.Key == "vcs.revision" && len(s.Value) >= 12:
			name += ", commit " + s.Value[:12]
		case s.Key == "vcs.modified" && s.Value == "true":
			name += ", changed"
		}
	}
	return name
}
