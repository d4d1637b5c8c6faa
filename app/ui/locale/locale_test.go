package locale

import "testing"

func TestReplacement(t *testing.T) {
	for _, c := range []struct {
		name  string
		env   map[string]string
		set   string
		wants bool
	}{
		{"nothing set", nil, "LANG", true},
		{"C in LANG", map[string]string{"LANG": "C.UTF-8"}, "LANG", true},
		{"C in LC_ALL wins over LANG", map[string]string{"LC_ALL": "C", "LANG": "de_DE.UTF-8"}, "LC_ALL", true},
		{"POSIX", map[string]string{"LC_MESSAGES": "POSIX"}, "LC_MESSAGES", true},
		{"a country stays", map[string]string{"LANG": "de_DE.UTF-8"}, "", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			name, _, ok := replacement(func(k string) string { return c.env[k] })
			if name != c.set || ok != c.wants {
				t.Errorf("got %q, %v; want %q, %v", name, ok, c.set, c.wants)
			}
		})
	}
}
