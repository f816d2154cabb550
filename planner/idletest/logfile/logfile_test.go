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
