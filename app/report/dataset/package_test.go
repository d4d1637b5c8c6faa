package dataset_test

import (
	"crypto/sha256"
	"encoding/csv"
	"encoding/hex"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

type described struct {
	Resources []struct {
		Name, Path, Hash string
		Bytes            int64
		Rows             int
		Schema           *struct {
			Fields []struct {
				Name, Type  string
				Constraints struct {
					Required, Unique bool
					Minimum, Maximum *float64
					Enum             []string
				}
			}
			PrimaryKey  []string
			ForeignKeys []struct {
				Fields    []string
				Reference struct {
					Resource string
					Fields   []string
				}
			}
		}
	}
}

// What datapackage.json says of the files holds: bytes and hashes, types and constraints of
// every cell, keys and what they refer to.
func TestPackageHoldsWhatItSays(t *testing.T) {
	dir := onDisk(t, awkward())
	text, err := os.ReadFile(filepath.Join(dir, "datapackage.json"))
	require.NoError(t, err)
	var p described
	require.NoError(t, json.Unmarshal(text, &p))
	keys := map[string]map[string]bool{} // of a table, by the columns that are referred to
	rows := map[string][]map[string]string{}
	files := []string{"datapackage.json"}
	for _, r := range p.Resources {
		files = append(files, r.Path)
		text, err := os.ReadFile(filepath.Join(dir, r.Path))
		require.NoError(t, err)
		sum := sha256.Sum256(text)
		require.Equal(t, "sha256:"+hex.EncodeToString(sum[:]), r.Hash, r.Path)
		require.EqualValues(t, len(text), r.Bytes, r.Path)
		if r.Schema == nil {
			continue
		}
		lines, err := csv.NewReader(strings.NewReader(string(text))).ReadAll()
		require.NoError(t, err)
		require.Len(t, lines, r.Rows+1)
		seen := map[string]bool{}
		for _, line := range lines[1:] {
			row := map[string]string{}
			for i, f := range r.Schema.Fields {
				require.Equal(t, f.Name, lines[0][i])
				row[f.Name] = line[i]
				if line[i] == "NA" {
					require.False(t, f.Constraints.Required, "%s %s is missing", r.Name, f.Name)
					continue
				}
				fits(t, r.Name+" "+f.Name, f.Type, line[i])
				if c := f.Constraints; f.Type == "number" || f.Type == "integer" {
					require.True(t, c.Minimum == nil || number(t, line[i]) >= *c.Minimum, "%s %s %s", r.Name, f.Name, line[i])
					require.True(t, c.Maximum == nil || number(t, line[i]) <= *c.Maximum, "%s %s %s", r.Name, f.Name, line[i])
				} else if c.Enum != nil {
					require.Contains(t, c.Enum, line[i], "%s %s", r.Name, f.Name)
				}
			}
			if r.Schema.PrimaryKey != nil {
				key := keyOf(row, r.Schema.PrimaryKey)
				require.False(t, seen[key], "%s: twice %q", r.Name, key)
				seen[key] = true
			}
			rows[r.Name] = append(rows[r.Name], row)
		}
		keys[r.Name] = seen
	}
	list, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, list, len(files), "every file is described")
	referred := 0
	for _, r := range p.Resources {
		if r.Schema == nil {
			continue
		}
		for _, f := range r.Schema.ForeignKeys {
			for _, row := range rows[r.Name] {
				if slices.ContainsFunc(f.Fields, func(c string) bool { return row[c] == "NA" }) {
					continue
				}
				require.True(t, keys[f.Reference.Resource][keyOf(row, f.Fields)], "%s: %v of %v", r.Name, f, row)
				referred++
			}
		}
	}
	require.Greater(t, referred, 50)
}

func keyOf(row map[string]string, columns []string) string {
	var out []string
	for _, c := range columns {
		out = append(out, row[c])
	}
	return strings.Join(out, "\x1f")
}

// fits holds a cell against its type.
func fits(t *testing.T, what, kind, cell string) {
	t.Helper()
	switch kind {
	case "number":
		number(t, cell)
	case "integer":
		require.Regexp(t, `^-?\d+$`, cell, what)
	case "boolean":
		require.Contains(t, []string{"0", "1"}, cell, what)
	case "date":
		_, err := time.Parse(time.DateOnly, cell)
		require.NoError(t, err, what)
	case "datetime":
		_, err := time.Parse("2006-01-02T15:04:05Z", cell)
		require.NoError(t, err, what)
	default:
		require.Equal(t, "string", kind, what)
	}
}

func TestPackageIsOfTheStandard(t *testing.T) {
	dir := onDisk(t, awkward())
	if exec.Command("/usr/bin/python3", "-c", "import jsonschema").Run() != nil {
		t.Skip("no jsonschema here")
	}
	schema, err := filepath.Abs("testdata/datapackage.schema.json")
	require.NoError(t, err)
	require.Equal(t, "valid\n", run(t, dir, "/usr/bin/python3", "-c", `
import json, sys, jsonschema
schema = json.load(open(sys.argv[1]))
jsonschema.Draft7Validator.check_schema(schema)
package = json.load(open("datapackage.json", encoding="utf-8"))
jsonschema.Draft7Validator(schema).validate(package)
del package["resources"][0]["path"]
assert not jsonschema.Draft7Validator(schema).is_valid(package)
print("valid")`, schema))
}
