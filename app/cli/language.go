package cli

// language returns the language of the environment in which a command runs: what the first
// variable that is set for messages names (POSIX, Base Definitions 8.2); "" where none is.
func language(getenv func(string) string) string {
	for _, name := range []string{"LC_ALL", "LC_MESSAGES", "LANG"} {
		if v := getenv(name); v != "" {
			return v
		}
	}
	return ""
}
