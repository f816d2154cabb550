package logfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/idletest"
)

// read reads a whole log.
func read(r io.Reader, m Mapping) (*Log, error) {
	reader, err := Open(r)
	if err != nil {
		return nil, err
	}
	return reader.Read(m)
}

func readFile(t *testing.T, path string) (*Log, error) {
	t.Helper()
	file, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	return read(file, Mapping{})
}

// One test written many ways reads as the same rows.
func TestSame(t *testing.T) {
	plain, err := readFile(t, "testdata/dialects/same_plain_lf.csv")
	if err != nil {
		t.Fatal(err)
	}
	if n := plain.Samples.Corrections[5].Len(); len(plain.Samples.Corrections) != 6 || n != 121 {
		t.Fatalf("%d cylinders, %d samples", len(plain.Samples.Corrections), n)
	}
	// The first row: 0,774.25,20.0,88.6,2.08,-2.20,1.08,3.39,-1.52,-1.21; the last time 600.
	s := plain.Samples
	got := []float64{s.Speed.T[0], s.Speed.V[0], s.Load.V[0], s.Coolant.V[0], s.Corrections[0].V[0], s.Corrections[1].V[0], s.Corrections[5].V[0], s.Speed.T[120]}
	if want := []float64{0, 774.25, 20, 88.6, 2.08, -2.20, -1.21, 600}; !cmp.Equal(got, want) {
		t.Fatalf("first row %v, want %v", got, want)
	}
	files, err := filepath.Glob("testdata/dialects/same_*")
	if err != nil || len(files) != 11 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, file := range files {
		log, err := readFile(t, file)
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if d := cmp.Diff(plain.Samples, log.Samples); d != "" {
			t.Errorf("%s: %s", file, d)
		}
	}
}

// The same in UTF-16, both ways about, with a mark and without, and with a byte that
// is no UTF-8 in a name.
func TestEncodings(t *testing.T) {
	plain, err := os.ReadFile("testdata/dialects/same_plain_lf.csv")
	if err != nil {
		t.Fatal(err)
	}
	want, err := read(bytes.NewReader(plain), Mapping{})
	if err != nil {
		t.Fatal(err)
	}
	wide := func(mark bool, high int) []byte {
		units := utf16.Encode([]rune(string(plain)))
		if mark {
			units = append([]uint16{0xfeff}, units...)
		}
		var out []byte
		for _, u := range units {
			pair := []byte{byte(u >> 8), byte(u)}
			out = append(out, pair[high], pair[1-high])
		}
		return out
	}
	for name, text := range map[string][]byte{
		"UTF-16, low byte first":  wide(true, 1),
		"UTF-16, high byte first": wide(true, 0),
		"without a mark, low":     wide(false, 1),
		"without a mark, high":    wide(false, 0),
		"Latin-1":                 bytes.Replace(plain, []byte("coolant_degC"), []byte("coolant (\xb0C)"), 1),
		"broken degree sign":      bytes.Replace(plain, []byte("coolant_degC"), []byte("coolant (\xef\xbf\xbdC)"), 1),
		"degrees Fahrenheit":      fahrenheit(plain),
	} {
		log, err := read(bytes.NewReader(text), Mapping{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if d := cmp.Diff(want.Samples, log.Samples, cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-9 })); d != "" {
			t.Errorf("%s: %s", name, d)
		}
		if strings.HasPrefix(name, "UTF-16") && log.Layout.Encoding != name {
			t.Errorf("%s: read as %s", name, log.Layout.Encoding)
		}
	}
}

// fahrenheit writes the coolant of the plain log in °F.
func fahrenheit(plain []byte) []byte {
	var out bytes.Buffer
	for i, line := range strings.Split(strings.TrimSuffix(string(plain), "\n"), "\n") {
		cell := strings.Split(line, ",")
		if i == 0 {
			cell[3] = "coolant [°F]"
		} else {
			var c float64
			fmt.Sscan(cell[3], &c)
			cell[3] = fmt.Sprint(c*9/5 + 32)
		}
		fmt.Fprintln(&out, strings.Join(cell, ","))
	}
	return out.Bytes()
}

// Pressures become kPa: 1 bar is 100 kPa, 1 psi 6.894757 kPa (NIST SP 811).
func TestPressures(t *testing.T) {
	for unit, want := range map[string]float64{"kPa": 4000, "bar": 400000, "MPa": 4000000, "psi": 27579.029} {
		text := strings.ReplaceAll("time (s),rail pressure (UNIT),corr 1 (mm3)\n0,4000,1\n5,4000,2\n", "UNIT", unit)
		if unit == "MPa" || unit == "bar" { // what a rail stands
			text, want = strings.ReplaceAll(text, "4000", "40"), want/100
		}
		log, err := read(strings.NewReader(text), Mapping{})
		if err != nil {
			t.Errorf("%s: %v", unit, err)
			continue
		}
		if got := log.Samples.RailPressure.V[0]; math.Abs(got-want) > 0.001 {
			t.Errorf("%s: %g kPa, want %g", unit, got, want)
		}
		if text := summaryText(t, log); unit != "kPa" && !strings.Contains(text, `"converted_from":"`+unit) {
			t.Errorf("nothing said of converting from %s: %s", unit, text)
		}
	}
}

func TestBad(t *testing.T) {
	for file, c := range map[string]struct {
		line    int    // of the refusal
		refused string // part of it
		said    string // part of the summary, where it reads
		samples int    // of the coolant
	}{
		"bad_binary.csv":                 {1, "no text", "", 0},
		"bad_empty.csv":                  {0, "empty", "", 0},
		"bad_header_only.csv":            {1, "no row of numbers follows", "", 0},
		"bad_header_wider_than_rows.csv": {2, "9 cells, but the header in line 1 names 10 columns", "", 0},
		"bad_nul_bytes.csv":              {2, "no text", "", 0},
		"bad_ragged_middle.csv":          {52, "4 cells, but the header has 10", "", 0},
		"bad_cut_last_row.csv":           {0, "", "the last line, 122, breaks off", 120},
		"bad_nan_tokens.csv":             {0, "", `"reason":"says that there is no value","count":11,"first_line":2`, 110},
		"bad_out_of_order.csv":           {0, "", "115 rows were out of order, the first in line 4", 121},
		"bad_sentinels.csv":              {0, "", `"reason":"outside -39.9 to 150 °C","count":10,"first_line":2`, 111},
	} {
		log, err := readFile(t, filepath.Join("testdata/dialects", file))
		if c.refused != "" {
			wrong(t, file, err, c.line, c.refused)
			continue
		}
		if err != nil {
			t.Errorf("%s: %v", file, err)
			continue
		}
		if text := summaryText(t, log); !strings.Contains(text, c.said) {
			t.Errorf("%s: nothing said of %q: %s", file, c.said, text)
		}
		if n := log.Samples.Coolant.Len(); n != c.samples {
			t.Errorf("%s: %d samples of the coolant, want %d", file, n, c.samples)
		}
	}
	shuffled, err := readFile(t, "testdata/dialects/bad_out_of_order.csv")
	if err != nil {
		t.Fatal(err)
	}
	plain, err := readFile(t, "testdata/dialects/same_plain_lf.csv")
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(plain.Samples, shuffled.Samples); d != "" {
		t.Errorf("put in order it differs: %s", d)
	}
}

func summaryText(t *testing.T, log *Log) string {
	t.Helper()
	text, err := json.Marshal(log.Summary)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// wrong asks for a refusal in a line, with a way forward.
func wrong(t *testing.T, name string, err error, line int, part string) {
	t.Helper()
	var refused *Error
	if !errors.As(err, &refused) {
		t.Errorf("%s: not refused: %v", name, err)
		return
	}
	if refused.Line != line || !strings.Contains(refused.What, part) {
		t.Errorf("%s: line %d: %s; want line %d: %s", name, refused.Line, refused.What, line, part)
	}
	if refused.Hint == "" {
		t.Errorf("%s: no way forward", name)
	}
}

const head = "time (s),coolant (°C),corr 1 (mm3/st),corr 2 (mm3/st)\n"

// short gives the samples of a short log, channel by channel: "0=86 5=87".
func short(s idletest.Series) string {
	var out []string
	for i := range s.T {
		out = append(out, fmt.Sprintf("%g=%g", s.T[i], s.V[i]))
	}
	return strings.Join(out, " ")
}

// Habits of loggers, as they were met. Each is a small log of our own.
func TestHabits(t *testing.T) {
	for _, c := range []struct {
		name, log string
		m         Mapping
		coolant   string
		first     string // cylinder 1
		second    string
		said      string
	}{
		{
			name: "two groups asked in turn, each with its own time, decimal commas, three rows above, blank columns",
			log: "recorder 4;;;;;;\n\nGroup A;;;;Group B;;\nZeit;Kühlmitteltemperatur;;;Zeit;Korrektur Zyl 1;Korrektur Zyl 2\ns;°C;;;s;mm³/Hub;mm³/Hub\n" +
				"0,00;83,5;;;0,31;1,2;-1,2\n0,62;83,6;;;0,93;1,3;-1,1\n1,24;83,6;;;1,55;1,2;-1,2\n",
			coolant: "0=83.5 0.62=83.6 1.24=83.6", first: "0.31=1.2 0.93=1.3 1.55=1.2", second: "0.31=-1.2 0.93=-1.1 1.55=-1.2",
			said: `"as":"correction.1","unit":"mm3/stroke"`,
		},
		{
			name: "one channel a row, milliseconds, gaps, zeros in the first row",
			log: "Time [ms],Engine Speed [rpm],Coolant [?C],Corr 1 [mm3/st],Corr 2 [mm3/st]\n0,0,,,\n60,1010,,,\n112,,86,,\n300,,,1.5,\n352,,,,-1.5\n860,1012,,,\n" +
				"912,,86,,\n1000,,,1.4,\n1052,,,,-1.4\n",
			coolant: "0.052=86 0.852=86", first: "0.24=1.5 0.94=1.4", second: "0.292=-1.5 0.992=-1.4",
			said: "before the engine ran were cut",
		},
		{
			name:    "misspelt names, empty brackets, one comma too many, rows before the start, a full byte",
			log:     "Run Time (s),Engin RPM (),Coolant Temprature (),Balance cyl 1 (mm3),Balance cyl 2 (mm3),\n0,0,20,0,0,\n1,0,20,0,0,\n2,1794,20,1.5,-1.5,\n3,1500,255,1.6,-1.6,\n",
			coolant: "0=20", first: "0=1.5 1=1.6", second: "0=-1.5 1=-1.6", said: "outside -39.9 to 150",
		},
		{
			name:    "clock with milliseconds past midnight",
			log:     "Clock,coolant °C,corr 1 mm3,corr 2 mm3\n23:59:59.44,84,1,-1\n00:00:00.00,84,2,-2\n00:00:00.70,85,3,-3\n",
			coolant: "0=84 0.56=84 1.26=85", first: "0=1 0.56=2 1.26=3", second: "0=-1 0.56=-2 1.26=-3",
		},
		{
			name: "minutes and seconds", log: "time,coolant °C,corr 1 mm3,corr 2 mm3\n00:58.5,84,1,-1\n00:59.0,84,2,-2\n01:00.5,85,3,-3\n",
			coolant: "0=84 0.5=84 2=85", first: "0=1 0.5=2 2=3", second: "0=-1 0.5=-2 2=-3",
		},
		{
			name: "ISO 8601", log: "timestamp,coolant °C,corr 1 mm3,corr 2 mm3\n2026-03-14T10:00:00Z,84,1,-1\n2026-03-14T10:00:05Z,84,2,-2\n",
			coolant: "0=84 5=84", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "the day first, as the mapping says", log: "date time;coolant °C;corr 1 mm3;corr 2 mm3\n14.03.2026 10:00:00;84;1;-1\n14.03.2026 10:00:05;84;2;-2\n",
			m: Mapping{Clock: DayFirst}, coolant: "0=84 5=84", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "seconds and milliseconds, as the mapping says", log: head + "12.900,84,1,-1\n12.950,84,2,-2\n13.5,84,3,-3\n",
			m: Mapping{Clock: SplitMillis}, coolant: "0=84 0.05=84 0.105=84", first: "0=1 0.05=2 0.105=3", second: "0=-1 0.05=-2 0.105=-3",
		},
		{
			name:    "preamble, units below, commas at the end",
			log:     "Log of the harbour workshop,,,,\nDate,2026-03-14,,,\nInterval,5,s,,\n,,,,\nTime,Coolant,Corr 1,Corr 2,\ns,°C,mm3/st,mm3/st,\n0,84,1,-1,\n5,85,2,-2,\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name:    "tabs, a preamble, and words among the numbers",
			log:     "# recorder\n# second line\nTime\tFan\tCoolant\tCorr 1\tCorr 2\ns\t\t°C\tmm3/st\tmm3/st\n0\tOff\t84\t1\t-1\n5\tOn\t85\tOff\t-2\n10\tOn\t85\t3\t-3\n",
			coolant: "0=84 5=85 10=85", first: "0=1 10=3", second: "0=-1 5=-2 10=-3", said: `"as":"correction.1","reason":"text","count":1,"first_line":6`,
		},
		{
			name:    "a comma in a text without quotes",
			log:     "time (s),note,coolant (°C),corr 1 (mm3/st),corr 2 (mm3/st)\n0,ok,84,1,-1\n5,fan on, then off,85,2,-2\n10,ok,85,3,-3\n",
			coolant: "0=84 5=85 10=85", first: "0=1 5=2 10=3", second: "0=-1 5=-2 10=-3", said: "a comma in the text of column 2",
		},
		{
			name: "the header is a comment", log: "# time_s,coolant_degC,corr1_mm3,corr2_mm3\n0,84,1,-1\n5,85,2,-2\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "the header again, comments and blank lines", log: head + "0,84,1,-1\n\n# note, 5\n" + head + "5,85,2,-2\n,,,\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2", said: `"reason":"the header again","count":1,"first_line":5`,
		},
		{
			name: "rows repeated whole, and by time; equal values are values", log: head + "0,84,1,-1\n0,84,1,-1\n5,84,1,-1\n5,,1,\n10,84,1,-1\n",
			coolant: "0=84 5=84 10=84", first: "0=1 5=1 10=1", second: "0=-1 5=-1 10=-1", said: `"collapsed":2`,
		},
		{
			name: "channels of one time in several rows", log: head + "0,84,,\n0,,1,\n0,,,-1\n5,85,,\n5,,2,-2\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2", said: `"merged":3`,
		},
		{
			name: "a counter of whole seconds, averaged as asked", log: head + "0,84,1,-1\n0,84,2,-2\n0,84,3,-3\n1,84,4,-4\n",
			m: Mapping{SameTime: "mean"}, coolant: "0=84 1=84", first: "0=2 1=4", second: "0=-2 1=-4",
		},
		{
			name: "columns in any order, bars, quotes", log: "corr 2 (mm3)|corr 1 (mm3)|\"time\"|coolant (°C)\n-1|1|0|84\n-2|\"2\"|5|85\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "no header, as the mapping says", log: "0,84,1,-1\n5,85,2,-2\n",
			m:       Mapping{Columns: map[Role]string{Time: "#1", Coolant: "#2", "correction.1": "#3", "correction.2": "#4"}, Unit: "mm3/stroke"},
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "names of one's own, as the mapping says", log: "zeitpunkt,a,b,c\n0,84,1,-1\n5,85,2,-2\n",
			m:       Mapping{Columns: map[Role]string{Time: "zeitpunkt", Coolant: "a", "correction.1": "b", "correction.2": "c"}, Unit: "mm3"},
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "the header in line 50", log: strings.Repeat("note of the workshop\n", 49) + head + "0,84,1,-1\n5,85,2,-2\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "CR alone", log: strings.ReplaceAll(head+"0,84,1,-1\n5,85,2,-2\n", "\n", "\r"),
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
		{
			name: "exponents and signs", log: head + "0,8.4e1,+1,-1.0E+0\n5,85,2,\u22122\n",
			coolant: "0=84 5=85", first: "0=1 5=2", second: "0=-1 5=-2",
		},
	} {
		t.Run(c.name, func(t *testing.T) {
			log, err := read(strings.NewReader(c.log), c.m)
			if err != nil {
				var d *Doubtful
				if errors.As(err, &d) {
					t.Fatalf("in doubt: %q", d.Layout.Doubts)
				}
				t.Fatal(err)
			}
			for what, pair := range map[string][2]string{
				"coolant": {short(log.Samples.Coolant), c.coolant},
				"first":   {short(log.Samples.Corrections[0]), c.first},
				"second":  {short(log.Samples.Corrections[1]), c.second},
			} {
				if !near(pair[0], pair[1]) {
					t.Errorf("%s: %s, want %s", what, pair[0], pair[1])
				}
			}
			if text := summaryText(t, log); !strings.Contains(text, c.said) {
				t.Errorf("nothing said of %q: %s", c.said, text)
			}
		})
	}
}

// near compares two lists of samples, but for the last bits.
func near(a, b string) bool {
	x, y := strings.FieldsFunc(a, func(r rune) bool { return r == ' ' || r == '=' }), strings.FieldsFunc(b, func(r rune) bool { return r == ' ' || r == '=' })
	if len(x) != len(y) {
		return false
	}
	for i := range x {
		var u, v float64
		fmt.Sscan(x[i], &u)
		fmt.Sscan(y[i], &v)
		if math.Abs(u-v) > 1e-6 {
			return false
		}
	}
	return true
}

// What is refused, each with its line and a way forward.
func TestRefused(t *testing.T) {
	for _, c := range []struct {
		name, log string
		m         Mapping
		line      int
		part      string
	}{
		{"a column twice", "time,coolant,corr 1 (mm3),corr 1 (mm3)\n0,84,1,-1\n5,85,2,-2\n", Mapping{}, 1, `both called "corr 1 (mm3)"`},
		{"two values at one time", head + "0,84,1,-1\n5,84,1,-1\n5,84,2,-1\n", Mapping{}, 4, "correction.1 has two values at one time: 2 here and 1 in line 3"},
		{"mixed marks", strings.ReplaceAll(head, ",", ";") + "0;84;1.5;-1\n5;85;2,5;-2\n", Mapping{}, 3, "mixed"},
		{"mixed marks further down", strings.ReplaceAll(head, ",", ";") + strings.Repeat("0;84;1.5;-1\n", 300) + "5;85;2,5;-2\n", Mapping{}, 302, "mixed"},
		{"thousands", strings.ReplaceAll(head, ",", ";") + "0;84;1.5;-1\n1,005;85;2.5;-2\n", Mapping{}, 3, "mixed"},
		{"the comma is both", "time,coolant,corr 1 (mm3),corr 2 (mm3)\n0,0,84,5,1,5,-1,5\n5,0,85,5,2,5,-2,5\n", Mapping{}, 2, "is the comma the decimal mark as well"},
		{"another unit", "time,coolant,corr 1 (mm3),corr 2 (mg)\n0,84,1,-1\n5,85,2,-2\n", Mapping{}, 1, `is in "mm3/stroke" and column 4`},
		{"no unit of a correction", "time,coolant,corr 1 (V),corr 2 (V)\n0,84,1,-1\n5,85,2,-2\n", Mapping{}, 1, "is no unit of correction.1"},
		{"a row too long", head + "0,84,1,-1\n5,85,2,-2,7\n", Mapping{}, 3, "5 cells, but the header has 4"},
		{"a row too short", head + "0,84,1,-1\n5,85,2\n10,85,2,-2\n", Mapping{}, 3, "3 cells, but the header has 4"},
		{"a quote that stays open", head + "0,84,1,-1\n5,\"85,2,-2\n10,84,1,-1\n", Mapping{}, 3, "a quoted cell has no end"},
		{"bytes further down", head + strings.Repeat("0,84,1,-1\n", 400) + "5,8\x005,2,-2\n", Mapping{}, 402, "no text"},
		{"gzip", "\x1f\x8b\x08\x00\x00", Mapping{}, 0, "gzip"},
		{"a spreadsheet", "PK\x03\x04\x14", Mapping{}, 0, "spreadsheet"},
		{"prose", "It idled well.\nNothing more to say.\n", Mapping{}, 0, "no row of numbers"},
		{"no such column", head + "0,84,1,-1\n", Mapping{Columns: map[Role]string{Load: "load"}}, 1, `no column is called "load"`},
		{"no such place", head + "0,84,1,-1\n", Mapping{Columns: map[Role]string{Load: "#9"}}, 0, "there is no column #9 of 4"},
		{"no such role", head + "0,84,1,-1\n", Mapping{Columns: map[Role]string{"oil": "#2"}}, 0, "no role"},
		{"no such unit", head + "0,84,1,-1\n", Mapping{Unit: "furlong"}, 0, "no unit"},
		{"no such clock", head + "0,84,1,-1\n", Mapping{Clock: "noon"}, 0, "no way to write a time"},
		{"nothing of a channel left", head + "0,84,---,-1\n5,85,---,-2\n", Mapping{}, 2, "no value of correction.1 is left"},
		{"far out of order", head + lines(2000) + "0,84,1,-1\n", Mapping{}, 2002, "goes back by more than 1000 rows"},
	} {
		_, err := read(strings.NewReader(c.log), c.m)
		wrong(t, c.name, err, c.line, c.part)
	}
}

// lines gives so many rows from 1 s on.
func lines(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "%d,84,%d,-1\n", i+1, i%3)
	}
	return b.String()
}

// What is not certain is asked, not guessed.
func TestDoubts(t *testing.T) {
	for _, c := range []struct{ name, log, part string }{
		{"no header", "0,84,1,-1\n5,85,2,-2\n", "there is no header"},
		{"no time", "tick,coolant,corr 1 mm3\n0,84,1\n5,85,2\n", "no column looks like the time"},
		{"two times", "time,elapsed,coolant,corr 1 mm3\n0,0,84,1\n5,5,85,2\n", "both look like the time"},
		{"no corrections", "time,coolant,x\n0,84,1\n5,85,2\n", "no column looks like a correction"},
		{"more cylinders than there are", "time,corr 17 mm3,corr 18 mm3\n0,1,2\n5,2,3\n", "no column looks like a correction"},
		{"a cylinder is missing", "time,corr 1 mm3,corr 3 mm3\n0,1,2\n5,2,3\n", "the highest cylinder is 3"},
		{"no unit", "time,corr 1,corr 2\n0,1,2\n5,2,3\n", "the corrections have no unit"},
		{"two coolants", "time,coolant A,coolant B,corr 1 mm3\n0,84,84,2\n5,85,84,3\n", "both look like coolant"},
		{"the day or the month", "time,corr 1 mm3\n03.04.2026 10:00:00,1\n03.04.2026 10:00:05,2\n", "the day first or the month"},
		{"minutes or hours", "time,corr 1 mm3\n10:00,1\n10:01,2\n", "minutes and seconds or hours and minutes"},
		{"milliseconds behind the point", "time,corr 1 mm3\n12.950,1\n13.50,1\n13.100,2\n", "--time s.ms"},
	} {
		_, err := read(strings.NewReader(c.log), Mapping{})
		var d *Doubtful
		if !errors.As(err, &d) {
			t.Errorf("%s: not asked: %v", c.name, err)
			continue
		}
		if text := strings.Join(d.Layout.Doubts, "\n"); !strings.Contains(text, c.part) {
			t.Errorf("%s: %q, want %q", c.name, text, c.part)
		}
	}
}

// endless gives the same bytes for ever, up to a length.
type endless struct {
	text []byte
	left int64
	read int64
}

func (e *endless) Read(p []byte) (int, error) {
	if e.left <= 0 {
		return 0, io.EOF
	}
	n := 0
	for n < len(p) && e.left > 0 {
		k := copy(p[n:], e.text[e.read%int64(len(e.text)):])
		n, e.read, e.left = n+k, e.read+int64(k), e.left-int64(k)
	}
	return n, nil
}

// A line of two gigabytes is refused after the first megabyte.
func TestLongLine(t *testing.T) {
	e := &endless{text: []byte("1234567890"), left: 2 << 30}
	_, err := read(e, Mapping{})
	wrong(t, "one line", err, 1, "longer than 1048576 bytes")
	if e.read > 4<<20 {
		t.Errorf("%d bytes were read", e.read)
	}
	e = &endless{text: []byte("9"), left: 2 << 30}
	_, err = read(io.MultiReader(strings.NewReader(head+lines(300)), e), Mapping{})
	wrong(t, "further down", err, 302, "longer than")
}

// failing fails when its text has been read.
type failing struct{ io.Reader }

func (f failing) Read(p []byte) (int, error) {
	n, err := f.Reader.Read(p)
	if err == io.EOF {
		return n, errors.New("the disk is gone")
	}
	return n, err
}

func TestReadError(t *testing.T) {
	_, err := read(failing{strings.NewReader(head + lines(5000))}, Mapping{})
	if err == nil || err.Error() != "the disk is gone" {
		t.Errorf("%v", err)
	}
}

// Many rows are averaged over neighbours: the means stay, and the resolution.
func TestAveraged(t *testing.T) {
	var b strings.Builder
	b.WriteString(head)
	sum := 0.0
	const rows = 100000
	for i := range rows {
		v := float64(i%7) * 0.25
		sum += v
		fmt.Fprintf(&b, "%g,84,%g,-1\n", float64(i)/100, v)
	}
	log, err := read(strings.NewReader(b.String()), Mapping{})
	if err != nil {
		t.Fatal(err)
	}
	s := log.Samples.Corrections[0]
	if log.Summary.Rows != rows || log.Summary.Averaged != 8 || s.Len() != rows/8 || s.Step != 0.25 {
		t.Errorf("%d rows, averaged over %d, %d samples, step %g", log.Summary.Rows, log.Summary.Averaged, s.Len(), s.Step)
	}
	if got := idletest.MomentsOf(s.V).Mean; math.Abs(got-sum/rows) > 1e-9 {
		t.Errorf("mean %g, want %g", got, sum/rows)
	}
	if !strings.Contains(summaryText(t, log), "each 8 neighbours were averaged") {
		t.Error("nothing said of averaging")
	}
}

// Whatever the bytes, the reading ends, with an error that has a place or samples
// that are in order.
func FuzzRead(f *testing.F) {
	files, err := filepath.Glob("testdata/dialects/*")
	if err != nil || len(files) == 0 {
		f.Fatal(err)
	}
	for _, file := range files {
		text, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text[:min(len(text), 600)])
	}
	f.Add([]byte("\xff\xfet\x00,\x001\x00\n\x00"))
	f.Add([]byte("time;corr 1 mm3\r0;1\r\n5;\"2\"\n"))
	f.Fuzz(func(t *testing.T, text []byte) {
		log, err := read(bytes.NewReader(text), Mapping{})
		if err != nil {
			var refused *Error
			var asked *Doubtful
			if !errors.As(err, &refused) && !errors.As(err, &asked) {
				t.Fatalf("%T: %v", err, err)
			}
			return
		}
		for _, c := range log.Samples.Channels() {
			s := c.Series
			for i, at := range s.T {
				if i > 0 && at <= s.T[i-1] || math.IsNaN(s.V[i]) || math.IsInf(s.V[i], 0) {
					t.Fatalf("sample %d: %g at %g", i, s.V[i], at)
				}
			}
		}
	})
}
