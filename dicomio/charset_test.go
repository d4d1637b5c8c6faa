package dicomio

import (
	"encoding/hex"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The example names of PS3.5 annexes H, I, J and K, and others.
func TestDecodeText(t *testing.T) {
	for name, c := range map[string]struct {
		raw  string
		sets []string
		want string
	}{
		"no set":              {"Smith^John", nil, "Smith^John"},
		"Latin 1":             {"Buc^J\xe9r\xf4me", []string{"ISO_IR 100"}, "Buc^Jérôme"},
		"Latin 2":             {"Wa\xb3\xeasa", []string{"ISO_IR 101"}, "Wałęsa"},
		"Latin 9":             {"\xa4 \xbd\xe9", []string{"ISO_IR 203"}, "€ œé"},
		"Cyrillic":            {"\xbb\xee\xdace\xdc\xd1yp\xd3", []string{"ISO_IR 144"}, "Люкceмбypг"},
		"Arabic":              {"\xe2\xc8\xc7\xe6\xea^\xe4\xe6\xd2\xc7\xd1", []string{"ISO_IR 127"}, "قباني^لنزار"},
		"Greek":               {"\xc4\xe9\xef\xed\xf5\xf3\xe9\xef\xf2", []string{"ISO_IR 126"}, "Διονυσιος"},
		"Hebrew":              {"\xf9\xf8\xe5\xef^\xe3\xe1\xe5\xf8\xe4", []string{"ISO_IR 138"}, "שרון^דבורה"},
		"Thai":                {"\xb9\xd2\xc2\xcaA", []string{"ISO_IR 166"}, "นายสA"},
		"UTF-8":               {"\xe7\x8e\x8b^\xe5\xb0\x8f", []string{"ISO_IR 192"}, "王^小"},
		"GB18030":             {"\xcd\xf5^\xd0\xa1\xb6\xab", []string{"GB18030"}, "王^小东"},
		"Japanese, ISO 2022":  {"Yamada^Tarou=\x1b$B;3ED\x1b(B^\x1b$BB@O:\x1b(B=\x1b$B$d$^$@\x1b(B^\x1b$B$?$m$&\x1b(B", []string{"", "ISO 2022 IR 87"}, "Yamada^Tarou=山田^太郎=やまだ^たろう"},
		"Japanese, IR 13":     {"\xd4\xcf\xc0\xde^\xc0\xdb\xb3=\x1b$B;3ED\x1b(J^\x1b$BB@O:\x1b(J", []string{"ISO 2022 IR 13", "ISO 2022 IR 87"}, "ﾔﾏﾀﾞ^ﾀﾛｳ=山田^太郎"},
		"Korean":              {"Hong^Gildong=\x1b$)C\xfb\xf3^\x1b$)C\xd1\xce\xd4\xd7=\x1b$)C\xc8\xab^\x1b$)C\xb1\xe6\xb5\xbf", []string{"", "ISO 2022 IR 149"}, "Hong^Gildong=洪^吉洞=홍^길동"},
		"Chinese, ISO 2022":   {"Wang^XiaoDong=\x1b$)A\xcd\xf5^\x1b$)A\xd0\xa1\xb6\xab", []string{"", "ISO 2022 IR 58"}, "Wang^XiaoDong=王^小东"},
		"Latin to Greek":      {"J\xe9\x1b-F\xc4\xe9\\J\xe9", []string{"ISO 2022 IR 100", "ISO 2022 IR 126"}, "JéΔι\\Jé"},
		"unknown set":         {"A\xff", []string{"NONSENSE"}, "A\uFFFD"},
		"unknown escape":      {"A\x1b!XB", []string{"", "ISO 2022 IR 87"}, "A\uFFFD!XB"},
		"escape at the end":   {"A\x1b", []string{""}, "A\uFFFD"},
		"escape in the first": {"\x1b(BA", []string{""}, "A"},
	} {
		t.Run(name, func(t *testing.T) { assert.Equal(t, c.want, decodeText([]byte(c.raw), c.sets)) })
	}
}

// A code in a two-byte set, one byte of which is a backslash.
func TestPatientCodeInCharacterSets(t *testing.T) {
	more := []el{text(0x00080005, "CS", `\ISO 2022 IR 87`), text(0x00100020, "LO", "\x1b$B%\\\x1b(B-7")}
	f, err := decode(ramp(8, "MONOCHROME2", 0, more...))
	require.NoError(t, err)
	assert.Equal(t, "ボ-7", f.PatientCode)
	f, err = decode(ramp(8, "MONOCHROME2", 0, text(0x00080005, "CS", "ISO_IR 166"), text(0x00100020, "LO", "\xb9")))
	require.NoError(t, err)
	assert.Equal(t, "น", f.PatientCode)
}

// The names in pydicom's published character set files, as pydicom decodes them.
func TestDecodeTextAgainstPydicom(t *testing.T) {
	out := tool(t, python(t), "-W", "ignore", "-c", `
import glob, os, pydicom, pydicom.data
for p in sorted(glob.glob(os.path.join(os.path.dirname(pydicom.data.__file__), "charset_files", "*.dcm"))):
    d = pydicom.dcmread(p)
    if "PatientName" not in d: continue
    sets = d.get("SpecificCharacterSet", "") or ""
    sets = [sets] if isinstance(sets, str) else list(sets)
    print(os.path.basename(p), "\\".join(sets).encode().hex() or "-", d.PatientName.original_string.hex(), str(d.PatientName).encode("utf-8").hex())`)
	lines := strings.Split(strings.TrimSpace(out), "\n")
	require.Greater(t, len(lines), 10)
	for _, line := range lines {
		part := strings.Fields(line)
		require.Len(t, part, 4, line)
		sets, _ := hex.DecodeString(part[1]) // "-" for none
		raw, err := hex.DecodeString(part[2])
		require.NoError(t, err)
		want, err := hex.DecodeString(part[3])
		require.NoError(t, err)
		got := decodeText(raw, strings.Split(string(sets), `\`))
		assert.Equal(t, string(want), strings.TrimRight(got, "="), part[0]) // pydicom drops empty groups at the end
	}
}
