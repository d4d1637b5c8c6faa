package cli

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLanguageOfTheEnvironment(t *testing.T) {
	for _, c := range []struct {
		name string
		env  map[string]string
		want string
	}{
		{"nothing set", nil, ""},
		{"the language alone", map[string]string{"LANG": "sv_SE.UTF-8"}, "sv_SE.UTF-8"},
		{"messages go before the language", map[string]string{"LC_MESSAGES": "fr_FR", "LANG": "sv_SE"}, "fr_FR"},
		{"all goes before messages", map[string]string{"LC_ALL": "C", "LC_MESSAGES": "fr_FR", "LANG": "sv_SE"}, "C"},
	} {
		t.Run(c.name, func(t *testing.T) {
			require.Equal(t, c.want, language(func(name string) string { return c.env[name] }))
		})
	}
}
