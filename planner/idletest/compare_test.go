package idletest

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// fromTable makes a test of one of the made-up logs.
func fromTable(t *testing.T, state State, phase Phase) Test {
	columns := table(t, fmt.Sprintf("testdata/idle_%s_%s.csv", state, phase))
	at := columns["run_time_s"]
	test := Test{Phase: phase, State: state, Run: 1, Measure: Corrections, Unit: CubicMillimetres}
	for i := 1; i <= 6; i++ {
		test.Samples.Corrections = append(test.Samples.Corrections, Series{T: at, V: columns[fmt.Sprintf("corr%d_mm3_st", i)]})
	}
	test.Samples.Coolant = Series{T: at, V: columns["coolant_degC"]}
	test.Samples.Speed = Series{T: at, V: columns["speed_rpm"]}
	test.Samples.Load = Series{T: at, V: columns["load_pct"]}
	return test
}

// made describes a made-up test.
type made struct {
	phase    Phase
	state    State
	run      int
	means    []float64
	sd, lag1 float64
	every    float64 // s; 5 if not set
	length   float64 // s; 600 if not set
	step     float64 // 0.01 if not set
	coolant  float64 // °C, at the start; -1: not recorded
}

// test makes it, with noise that is the same every time.
func (m made) test() Test {
	every, length, step := m.every, m.length, m.step
	if every == 0 {
		every = 5
	}
	if length == 0 {
		length = 600
	}
	if step == 0 {
		step = 0.01
	}
	t := Test{Phase: m.phase, State: m.state, Run: max(1, m.run), Measure: Corrections, Unit: CubicMillimetres}
	for i, mean := range m.means {
		seed := uint64(i) + 100*uint64(t.Run)
		if m.phase == After {
			seed += 10
		}
		noise := rand.New(rand.NewPCG(seed, 7))
		var s Series
		x := noise.NormFloat64()
		for at := 0.0; at <= length; at += every {
			s.Add(at, math.Round((mean+m.sd*x)/step)*step)
			x = m.lag1*x + math.Sqrt(1-m.lag1*m.lag1)*noise.NormFloat64()
		}
		t.Samples.Corrections = append(t.Samples.Corrections, s)
	}
	start, rise := m.coolant, 0.0
	switch {
	case m.coolant == 0 && m.state == Hot:
		start = 86
	case m.coolant == 0:
		start, rise = 12, 60
	case m.state == Cold:
		rise = 60
	}
	for at := 0.0; at <= length && m.coolant >= 0; at += every {
		t.Samples.Coolant.Add(at, math.Round((start+rise*at/600)*10)/10)
	}
	return t
}

// pair makes two tests that differ in their means.
func pair(state State, before, after []float64, sd, lag1 float64) []Test {
	return []Test{
		made{phase: Before, state: state, means: before, sd: sd, lag1: lag1}.test(),
		made{phase: After, state: state, means: after, sd: sd, lag1: lag1}.test(),
	}
}

// runs makes so many runs of each phase, with a scatter from day to day.
func runs(state State, before, after []float64, nBefore, nAfter int, day float64) []Test {
	noise := rand.New(rand.NewPCG(3, 9))
	var all []Test
	for i := range nBefore + nAfter {
		m := made{phase: Before, state: state, run: i + 1, means: slices.Clone(before), sd: 0.1}
		if i >= nBefore {
			m.phase, m.run, m.means = After, i-nBefore+1, slices.Clone(after)
		}
		for c := range m.means {
			m.means[c] += day * noise.NormFloat64()
		}
		all = append(all, m.test())
	}
	return all
}

// change changes tests in place and gives them back.
func change(tests []Test, of func(*Test)) []Test {
	for i := range tests {
		of(&tests[i])
	}
	return tests
}

// lastOf changes the last of some tests.
func lastOf(tests []Test, of func(*Test)) []Test {
	of(&tests[len(tests)-1])
	return tests
}

func eachValue(s []Series, of func(t, v float64) float64) {
	for i := range s {
		s[i].V = slices.Clone(s[i].V)
		for n := range s[i].V {
			s[i].V[n] = of(s[i].T[n], s[i].V[n])
		}
	}
}

var (
	uneven = []float64{2, -1.5, 0.5, -1}
	even   = []float64{0.5, -0.4, 0.2, -0.3}
)

// longer makes a test a minute longer, by repeating it.
func longer(t Test) Test {
	stretch := func(s Series) Series {
		n := s.Len()
		for i := 1; n > 0 && i <= 12; i++ {
			s.Add(600+5*float64(i), s.V[i])
		}
		return s
	}
	for i, s := range t.Samples.Corrections {
		t.Samples.Corrections[i] = stretch(s)
	}
	t.Samples.Coolant = stretch(t.Samples.Coolant)
	return t
}

// dropped drops the samples of a stretch of time.
func dropped(t *Test, from, to float64) {
	for i, s := range t.Samples.Corrections {
		var kept Series
		for n, at := range s.T {
			if at < from || at > to {
				kept.Add(at, s.V[n])
			}
		}
		t.Samples.Corrections[i] = kept
	}
}

func constant(s *Series, v float64) {
	for i := range s.V {
		s.V[i] = v
	}
}

// bottles makes leak-off tests.
func bottles(before, after [][]float64) []Test {
	var tests []Test
	for i, v := range before {
		tests = append(tests, Test{Phase: Before, State: Hot, Run: i + 1, Measure: LeakOff, Single: v})
	}
	for i, v := range after {
		tests = append(tests, Test{Phase: After, State: Hot, Run: i + 1, Measure: LeakOff, Single: v})
	}
	return tests
}

func TestCompare(t *testing.T) {
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			got := Compare(c.tests(), c.between, c.rules)
			if len(got.States) != 1 {
				t.Fatalf("%d states", len(got.States))
			}
			o := got.States[0]
			said := slices.Concat(o.Reasons, o.Warnings, got.Warnings, got.Firmer)
			if o.Verdict != c.verdict {
				t.Errorf("verdict %q, want %q: %s", o.Verdict, c.verdict, got.Overall)
			}
			if c.strength != "" && o.Strength != c.strength {
				t.Errorf("%q, want %q", o.Strength, c.strength)
			}
			if (o.Verdict == NotComparable) == o.Comparable || o.Comparable == (len(o.Reasons) > 0) {
				t.Errorf("comparable %v with %d reasons and verdict %q", o.Comparable, len(o.Reasons), o.Verdict)
			}
			for _, k := range c.kinds {
				if !has(said, k) {
					t.Errorf("nothing said of %q: %s", k, sentences(said))
				}
			}
			for _, k := range c.not {
				if has(said, k) {
					t.Errorf("said of %q: %s", k, sentences(said))
				}
			}
			for i, class := range c.classes {
				if o.Cylinders[i].Class != class {
					t.Errorf("cylinder %d is %q, want %q: %+v", i+1, o.Cylinders[i].Class, class, o.Cylinders[i])
				}
			}
			if !strings.Contains(got.Overall, c.overall) {
				t.Errorf("%q lacks %q", got.Overall, c.overall)
			}
			if strings.Contains(got.Overall, "success") || strings.Contains(got.Overall, "%!") || strings.Contains(sentences(said), "%!") {
				t.Errorf("badly said: %q %s", got.Overall, sentences(said))
			}
			if _, err := json.Marshal(got); err != nil {
				t.Errorf("no JSON: %v", err)
			}
		})
	}
}

// TestMadeUpLogs compares the four made-up logs as a whole: hot and cold, one run
// each, all six cylinders made to move towards zero. The means are those of the R
// script; their root mean square is taken here by hand.
func TestMadeUpLogs(t *testing.T) {
	got := Compare([]Test{
		fromTable(t, Hot, Before), fromTable(t, Hot, After), fromTable(t, Cold, Before), fromTable(t, Cold, After),
	}, nil, Rules{})
	want := "Better (suggested), hot as well as cold: hot the cylinders work more evenly, and the spread of the corrections fell from 1.83 to 0.85 mm3/stroke; cold"
	if !strings.HasPrefix(got.Overall, want) {
		t.Errorf("%q, want %q", got.Overall, want)
	}
	hot := got.States[0]
	near(t, "rms before", hot.Spread.BeforeRMS, 1.8251, 1e-4) // of 1.9236 2.2698 0.6022 2.7695 1.3485 1.1353
	near(t, "rms after", hot.Spread.AfterRMS, 0.85293, 1e-4)
	var classes []Class
	for _, c := range hot.Cylinders {
		classes = append(classes, c.Class)
	}
	// Cylinder 5 moved by 0.48: significant, and neither shown to be more than 0.5 nor less.
	if want := []Class{Nearer, Nearer, Same, Nearer, NotShown, Nearer}; !slices.Equal(classes, want) {
		t.Errorf("classes %q, want %q", classes, want)
	}
	if len(got.States) != 2 || !got.States[1].Comparable || has(got.Firmer, OtherState) {
		t.Errorf("%d states, advice %s", len(got.States), sentences(got.Firmer))
	}
	near(t, "load", hot.Load.Change, -6.307799685918694, 1e-9) // both means as R's t.test of the load has them
}

func sentences(said []Remark) string {
	var all []string
	for _, r := range said {
		text, _ := r.MarshalText()
		all = append(all, fmt.Sprintf("%s: %s", r.Kind, text))
	}
	return strings.Join(all, "\n")
}

// TestEverythingOccurs: every class, verdict, strength and kind of remark is met by
// one of the cases.
func TestEverythingOccurs(t *testing.T) {
	met := map[string]bool{}
	for _, c := range cases {
		got := Compare(c.tests(), c.between, c.rules)
		for _, o := range got.States {
			met[string(o.Verdict)], met[string(o.Strength)] = true, true
			for _, cylinder := range o.Cylinders {
				met[string(cylinder.Class)] = true
			}
			for _, r := range slices.Concat(o.Reasons, o.Warnings, got.Warnings, got.Firmer) {
				met[string(r.Kind)] = true
			}
		}
	}
	wanted := 0
	for _, file := range []string{"remark.go", "compare.go"} {
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(parsed, func(n ast.Node) bool {
			spec, ok := n.(*ast.ValueSpec)
			if !ok || spec.Type == nil {
				return true
			}
			if len(spec.Values) == 0 {
				return true
			}
			literal, ok := spec.Values[0].(*ast.BasicLit)
			if !ok {
				return true
			}
			word, _ := strconv.Unquote(literal.Value)
			wanted++
			if !met[word] {
				t.Errorf("no case comes to %q", word)
			}
			return true
		})
	}
	if wanted < 50 {
		t.Errorf("only %d words looked for", wanted)
	}
}
