package logfile

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"
)

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
		{"one line of brackets", strings.Repeat("{a: ", 100_000), Mapping{}, 0, "no row of numbers"},
		{"columns without an end", "t" + strings.Repeat(",c", 3000) + "\n0" + strings.Repeat(",1", 3000) + "\n5" + strings.Repeat(",2", 3000) + "\n", Mapping{}, 2, "3001 columns, and at most 500 are read"},
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
