package roster_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"linerwatch/app/roster"
	"linerwatch/app/study"
	"linerwatch/measure"
)

func write(t *testing.T, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func texts(s *roster.Sheet) (rows []string) {
	for _, r := range s.Rows {
		var cells []string
		for _, c := range r.Cells {
			cells = append(cells, c.Text+c.Fault.Code)
		}
		rows = append(rows, strings.Join(cells, "|"))
	}
	return rows
}

func codes(notes []study.Note) (list []string) {
	for _, n := range notes {
		list = append(list, n.Code)
	}
	return list
}

func day(text string) time.Time {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		panic(err)
	}
	return t
}

func TestOpenText(t *testing.T) {
	for name, c := range map[string]struct {
		text  string
		rows  []string
		notes []string
	}{
		"commas":         {"a,b\n1,\" x, y \"\n", []string{"1|x, y"}, nil},
		"semicolons":     {"a;b\n1,5;2\n", []string{"1,5|2"}, nil},
		"tabs":           {"a\tb\n1\t2\n", []string{"1|2"}, nil},
		"a mark":         {"\ufeffa,b\r\n1,2\r\n", []string{"1|2"}, nil},
		"Latin-1":        {"a,b\nM\xfcller \x80,2\n", []string{"Müller €|2"}, []string{"sheet.latin"}},
		"short rows":     {"a,b,c\n1\n", []string{"1||"}, nil},
		"long rows":      {"a,b\n1,2,3\n", []string{"1|2cell.excess"}, nil},
		"empty rows":     {"\n,,\na,b\n\n,\n1,2\n", []string{"1|2"}, nil},
		"a quoted break": {"\"a;,b\",c\n\"1\n2\",3\n", []string{"1\n2|3"}, nil},
	} {
		s, err := roster.Open(write(t, "t.csv", c.text))
		require.NoError(t, err, name)
		require.Equal(t, c.rows, texts(s), name)
		require.Equal(t, c.notes, codes(s.Notes), name)
	}
	for text, want := range map[string]string{
		"":                                 "t.csv: the table is empty",
		"a,b\n":                            "t.csv: the table has a header and no rows",
		"a,A\n1,2\n":                       "t.csv: column A is there twice",
		"a,,b\n1,2,3\n":                    "t.csv: column 2 has no name",
		"a,b\n1,\"2\n":                     "t.csv: line 2: quotes that are not closed",
		"\xff\xfea\x00":                    "t.csv: the table is text in UTF-16",
		"a,b\n1,\x00\n":                    "t.csv: neither text nor a workbook",
		"PK\x03\x04 no workbook":           "t.csv: the workbook cannot be read",
		"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": "t.csv: an XLS file",
	} {
		_, err := roster.Open(write(t, "t.csv", text))
		require.ErrorContains(t, errorOf(err), want)
	}
	_, err := roster.Open(filepath.Join(t.TempDir(), "none.csv"))
	require.ErrorIs(t, err, os.ErrNotExist)
}

type told string

func (t told) Error() string { return string(t) }

// errorOf is an error in the words that a person reads.
func errorOf(err error) error { return told(study.Told(err)) }

// The lines of a table are those of its file.
func TestLines(t *testing.T) {
	s, err := roster.Open(write(t, "t.csv", "\na,b\n\n1,\"x\ny\"\n2,3\n"))
	require.NoError(t, err)
	require.Equal(t, []int{4, 6}, []int{s.Rows[0].Line, s.Rows[1].Line})
}

// Values of workbooks as openpyxl 3.0.9 wrote them (testdata/README.md).
func TestOpenWorkbook(t *testing.T) {
	s, err := roster.Open("testdata/odd.xlsx")
	require.NoError(t, err)
	require.Equal(t, []string{
		"A1|right|2004-02-29|28.1|8|yes",
		"A2|right|2004-02-29|=20+8cell.uncomputed|8|no",
		"A3|left|2004-02-29|28|#N/Acell.error|",
		"A4|left|38045|28|8|",
		"A5|left|31.5.2004|28,5|8|",
		"A6|right|2004-02-29|32|8|",
	}, texts(s))
	require.Equal(t, 9, s.Rows[5].Line)

	s, err = roster.Open("testdata/hips.xlsx")
	require.NoError(t, err)
	require.Len(t, s.Rows, 30)
	require.Equal(t, "P01|right|2002-05-01|32|8.3|XLPE|A|female|51|22.1|no|", texts(s)[0])
	require.Equal(t, "P02|right|2002-05-02|36|6|conventional|B|female|52|22.2|no|", texts(s)[1])
	require.Equal(t, []string{"sheet.read", "sheet.others"}, codes(s.Notes))
}

func mapped(t *testing.T, text string, given ...string) (roster.Mapping, error) {
	t.Helper()
	s, err := roster.Open(write(t, "hips.csv", text))
	require.NoError(t, err)
	var list []roster.Given
	for _, g := range given {
		one, err := roster.ParseGiven(g)
		require.NoError(t, err)
		list = append(list, one)
	}
	return roster.Map(s, roster.HipFields(), []study.Variable{{Of: study.OfHip, Name: "approach", Type: study.Text}}, list, study.OfPatient, study.OfHip)
}

func TestMap(t *testing.T) {
	m, err := mapped(t, "Patient ID,SIDE,Date of surgery,Head diameter [mm],Weight (kg),approach,BMI,odd,left\n1,2,3,4,5,6,7,8,9\n",
		"BMI=patient:number:kg/m2", "left=none")
	require.NoError(t, err)
	var got []string
	for _, c := range m.Columns {
		switch {
		case c.Field != nil:
			got = append(got, c.Field.Name)
		case c.Variable != nil:
			got = append(got, string(c.Variable.Of)+" "+c.Variable.Name+" "+string(c.Variable.Type)+" "+c.Variable.Unit)
		case c.Out:
			got = append(got, "out")
		default:
			got = append(got, "?")
		}
	}
	require.Equal(t, []string{"patient", "side", "surgery", "head_mm", "weight_kg", "hip approach text ", "patient bmi number kg/m2", "?", "out"}, got)
	require.True(t, m.Lacks("liner_mm"))
	require.False(t, m.Lacks("surgery"))
	for _, c := range []struct{ header, given, want string }{
		{"patient,head (cm)", "", "states cm; head_mm is in mm"},
		{"patient,pid", "pid=patient", "two columns hold patient"},
		{"patient,x", "y=side", "no column y in hips.csv; there are patient, x"},
		{"patient,x", "x=sied", `"sied" is none of patient, site, side`},
		{"patient,x", "x=film:number", `"film:number" is none of`},
		{"patient,x", "x=hip:nummer", `"nummer" is none of number`},
		{"patient,x", "x=hip:choice", "a variable has choices where its type is choice"},
	} {
		var given []string
		if c.given != "" {
			given = []string{c.given}
		}
		_, err := mapped(t, c.header+"\n1,2\n", given...)
		require.ErrorContains(t, errorOf(err), c.want, c.header)
	}
	for _, bad := range []string{"", "a", "=b", "a="} {
		_, err := roster.ParseGiven(bad)
		require.Error(t, err, bad)
	}
}

func TestRead(t *testing.T) {
	m, err := mapped(t, "patient,site,side,surgery,head_mm,pe,sex,lipped,start_years,bmi,seen,kind\nA,S,R,31.5.2004,\"28,5\",xlpe,F,yes,0,\"22,5\",2020/1/2,Ab\n",
		"bmi=patient:number:kg/m2", "seen=hip:date", "kind=hip:choice:Ab|Cd")
	require.NoError(t, err)
	list, bad := m.Read("")
	require.Empty(t, bad)
	s := list[0].Subject()
	require.Equal(t, study.Hip{Site: "S", Patient: "A", Side: measure.Right, Surgery: day("2004-05-31"),
		Implant: study.Implant{HeadMM: 28.5, PE: "XLPE", Lipped: study.Yes}}, s.Hip)
	require.Equal(t, study.Patient{Site: "S", Code: "A", Sex: "female"}, s.Patient)
	require.Equal(t, []study.Value{{Of: study.OfPatient, Name: "bmi", Text: "22.5"}, {Of: study.OfHip, Name: "seen", Text: "2020-01-02"},
		{Of: study.OfHip, Name: "kind", Text: "Ab"}}, s.Values)

	base := roster.Subject{Hip: study.Hip{ID: "H1", Group: "G", Implant: study.Implant{LinerMM: 8, HeadMM: 36}}}
	now := list[0].Onto(base)
	require.Equal(t, "H1 G", now.Hip.ID+" "+now.Hip.Group)
	require.Equal(t, []float64{8, 28.5}, []float64{now.Hip.Implant.LinerMM, now.Hip.Implant.HeadMM}, "what a row does not say stays")
}

// Every bad cell is named, with its file, line, column and value.
func TestReadNamesEveryBadCell(t *testing.T) {
	m, err := mapped(t, "patient,side,surgery,head_mm,liner_mm,pe,bmi\nA,up,3/4/2004,0x1C,0,PE,fat\nB,left,31.2.2004,28 mm,NaN,XLPE,20\nC,left,,,,,\n",
		"bmi=patient:number")
	require.NoError(t, err)
	_, bad := m.Read("")
	var got []string
	for _, e := range bad {
		got = append(got, study.Told(e))
	}
	require.Equal(t, []string{
		`hips.csv: line 2, column side, "up": "up" is neither right nor left`,
		`hips.csv: line 2, column surgery, "3/4/2004": whether day or month comes first is not known: say how dates with slashes are written, day-first or month-first (--dates)`,
		`hips.csv: line 2, column head_mm, "0x1C": "0x1C" is not a number`,
		`hips.csv: line 2, column liner_mm, "0": is 0: leave the cell empty where it is not known`,
		`hips.csv: line 2, column pe, "PE": "PE" is none of XLPE, conventional`,
		`hips.csv: line 2, column bmi, "fat": "fat" is no value of bmi, which is a number`,
		`hips.csv: line 3, column surgery, "31.2.2004": "31.2.2004" is no date, such as 2004-05-31`,
		`hips.csv: line 3, column head_mm, "28 mm": "28 mm" is not a number`,
		`hips.csv: line 3, column liner_mm, "NaN": "NaN" is not a number`,
	}, got)
	for order, want := range map[roster.DateOrder]string{roster.DayFirst: "2004-04-03", roster.MonthFirst: "2004-03-04"} {
		m, err := mapped(t, "patient,surgery\nA,3/4/2004\n")
		require.NoError(t, err)
		list, bad := m.Read(order)
		require.Empty(t, bad)
		require.Equal(t, day(want), list[0].Subject().Hip.Surgery)
	}
}
