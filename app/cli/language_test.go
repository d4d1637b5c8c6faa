package cli

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestLanguagesWanted(t *testing.T) {
	for _, c := range []struct {
		name   string
		env    map[string]string
		system string
		want   []string
	}{
		{"nothing set", nil, "", []string{""}},
		{"nothing but a list, in the C locale", map[string]string{"LANGUAGE": "de"}, "", []string{""}},
		{"the system, where nothing is set", nil, "de-DE", []string{"de-DE"}},
		{"the language alone", map[string]string{"LANG": "sv_SE.UTF-8"}, "de-DE", []string{"", "sv_SE.UTF-8"}},
		{"messages go before the language", map[string]string{"LC_MESSAGES": "fr_FR", "LANG": "sv_SE"}, "", []string{"", "fr_FR"}},
		{"all goes before messages", map[string]string{"LC_ALL": "nb_NO", "LC_MESSAGES": "fr_FR", "LANG": "sv_SE"}, "", []string{"", "nb_NO"}},
		{"a list before all", map[string]string{"LC_ALL": "nb_NO", "LANGUAGE": "nn:de"}, "", []string{"nn", "de", "nb_NO"}},
		{"C", map[string]string{"LC_ALL": "C", "LC_MESSAGES": "fr_FR", "LANGUAGE": "de"}, "de-DE", nil},
		{"C of UTF-8", map[string]string{"LANG": "C.UTF-8", "LANGUAGE": "de"}, "", nil},
		{"POSIX", map[string]string{"LC_MESSAGES": "POSIX", "LANG": "de_DE"}, "", nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			env := Env{Getenv: func(name string) string { return c.env[name] }, SystemLanguage: func() string { return c.system }}
			require.Equal(t, c.want, wanted(env))
		})
	}
	require.Empty(t, wanted(Env{}))
}
