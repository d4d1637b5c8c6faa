package dataset

import (
	"encoding/json"
	"strings"
)

// writePython writes a module for Python, which needs pandas.
func writePython(tables []loaded) []byte {
	p := new(page)
	p.line("# %s", intro)
	p.line("# import load; study = load.load() is then a dict of pandas.DataFrame. In the attrs of each,")
	p.line("# labels says what a column is, units its unit, codes what its codes mean.")
	p.line("import os\n\nimport pandas as pd\n")
	p.line("# table: columns with name, type, label, unit and codes")
	p.line("TABLES = {")
	for _, t := range tables {
		p.line("    %s: [", pyText(t.name))
		for _, f := range t.fields {
			p.line("        (%s, %s, %s, %s, %s),", pyText(f.name), pyText(f.kind.of), pyText(f.label), pyText(f.unit), pyCodes(f))
		}
		p.line("    ],")
	}
	p.line("}")
	p.line("%s", pyFunctions)
	return p.Bytes()
}

const pyFunctions = `

def _typed(x, kind, codes):
    if kind == "number":
        return pd.to_numeric(x)
    if kind == "integer":
        return pd.to_numeric(x).astype("Int64")
    if kind == "boolean":
        return x.map({"1": True, "0": False}).astype("boolean")
    if kind == "date":
        return pd.to_datetime(x, format="%Y-%m-%d")
    if kind == "datetime":
        return pd.to_datetime(x, format="%Y-%m-%dT%H:%M:%SZ", utc=True)
    x = x.str.replace(r"\A'(?='*([=+@\t\r\n-]|NA\Z))", "", regex=True)
    return x.astype(pd.CategoricalDtype(list(codes))) if codes is not None else x.astype("string")


def load(folder=os.path.dirname(os.path.abspath(__file__))):
    study = {}
    for table, columns in TABLES.items():
        raw = pd.read_csv(os.path.join(folder, table + ".csv"), dtype=str, keep_default_na=False, na_values=["NA"], encoding="utf-8")
        if raw.shape[1] != len(columns):
            raise ValueError(table + ".csv has other columns than load.py")
        study[table] = pd.DataFrame({name: _typed(raw.iloc[:, i], kind, codes) for i, (name, kind, _, _, codes) in enumerate(columns)})
        study[table].attrs = {
            "labels": {name: label for name, _, label, _, _ in columns},
            "units": {name: unit for name, _, _, unit, _ in columns if unit},
            "codes": {name: codes for name, _, _, _, codes in columns if codes},
        }
    return study`

// pyCodes are the codes of a column with their words.
func pyCodes(f field) string {
	if f.choices == nil {
		return "None"
	}
	var out []string
	for _, c := range f.choices {
		out = append(out, pyText(c.Code)+": "+pyText(c.Words))
	}
	return "{" + strings.Join(out, ", ") + "}"
}

// pyText is a text of Python, which has those of JSON.
func pyText(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		return `""` // a text is always written
	}
	return string(b)
}
