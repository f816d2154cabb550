package safety

import (
	"errors"
	"math"
	"strings"
	"testing"
	"unicode/utf8"
)

const (
	job1, step1 = "0195a1b2", "pump-dead"
)

var (
	seen    = Demand{Ask: "fuse number, or dead", Word: "dead"}
	fuse    = Demand{Ask: "fuse number, or dead", Word: "dead", Number: &Number{Min: 1, Max: 99}}
	mark    = Demand{Ask: "the mL marked", Number: &Number{Min: 613, Max: 645, Unit: "mL"}}
	counted = Demand{Ask: "caps counted", Number: &Number{Equals: "caps-fitted"}}
	bar     = Demand{Ask: "rail pressure read", Number: &Number{Min: 0, Max: 5, Unit: "bar"}}
)

func TestClear(t *testing.T) {
	for _, r := range []struct {
		because string
		demand  Demand
		answer  Answer
		proof   string
	}{
		{"the word", seen, Answer{Text: "dead"}, "word"},
		{"the word, as a hand types it", seen, Answer{Text: "  Dead "}, "word"},
		{"the digits beside it", seen, Answer{Text: "407", Digits: "407"}, "digits"},
		{"the digits, apart", seen, Answer{Text: "4 0 7", Digits: "407"}, "digits"},
		{"digits with zeros in front", seen, Answer{Text: "007", Digits: "007"}, "digits"},
		{"a number beside a word", fuse, Answer{Text: "17"}, "number"},
		{"a number of one digit", fuse, Answer{Text: "7"}, "number"},
		{"the word beside a number", fuse, Answer{Text: "DEAD"}, "word"},
		{"least", mark, Answer{Text: "613"}, "number"},
		{"most", mark, Answer{Text: "645"}, "number"},
		{"with its unit", mark, Answer{Text: "620 mL"}, "number"},
		{"with its unit and no space", mark, Answer{Text: "620mL"}, "number"},
		{"with a decimal point", mark, Answer{Text: "620.5"}, "number"},
		{"with a decimal comma", mark, Answer{Text: "620,5"}, "number"},
		{"with its unit written out", Demand{Ask: "minutes", Word: "zero", Number: &Number{Min: 10, Max: 10000, Unit: "min"}}, Answer{Text: "60 Minutes"}, "number"},
		{"zero pressure", bar, Answer{Text: "0"}, "number"},
		{"a comma that groups nothing", bar, Answer{Text: "0,125"}, "number"},
		{"as many as before", counted, Answer{Text: "4", Earlier: "4"}, "number"},
		{"as many as before, written in another way", counted, Answer{Text: "4.0", Earlier: "4"}, "number"},
	} {
		c, err := Clear(r.demand, job1, step1, r.answer)
		if err != nil || c.Proof() != r.proof || !c.Covers(job1, step1) {
			t.Errorf("%s, %+v: %q, %v, want it cleared by %s", r.because, r.answer, c.Proof(), err, r.proof)
		}
	}
}

func TestClearRefuses(t *testing.T) {
	for _, r := range []struct {
		because string
		demand  Demand
		answer  Answer
	}{
		{"nothing", seen, Answer{Text: ""}},
		{"Enter", seen, Answer{Text: "\n"}},
		{"a space", seen, Answer{Text: "   "}},
		{"y", seen, Answer{Text: "y"}},
		{"yes", seen, Answer{Text: "yes"}},
		{"ok", seen, Answer{Text: "OK"}},
		{"yes, though a procedure asks for it", Demand{Ask: "yes", Word: "yes"}, Answer{Text: "yes"}},
		{"yes, though it is shown for digits", seen, Answer{Text: "yes", Digits: "yes"}},
		{"another word", seen, Answer{Text: "alive"}},
		{"a part of the word", seen, Answer{Text: "dea"}},
		{"the word and more", seen, Answer{Text: "not dead"}},
		{"wrong digits", seen, Answer{Text: "408", Digits: "407"}},
		{"turned digits", seen, Answer{Text: "704", Digits: "407"}},
		{"some of the digits", seen, Answer{Text: "40", Digits: "407"}},
		{"digits where none were shown", seen, Answer{Text: "407"}},
		{"full-width digits", seen, Answer{Text: "４０７", Digits: "407"}},
		{"digits where only a number proves", mark, Answer{Text: "407", Digits: "407"}},
		{"yes for a number", mark, Answer{Text: "yes"}},
		{"just below", mark, Answer{Text: "612.9"}},
		{"just above", mark, Answer{Text: "645.1"}},
		{"below zero", fuse, Answer{Text: "-1"}},
		{"another unit", mark, Answer{Text: "0.62 L"}},
		{"the unit twice", mark, Answer{Text: "620 mL mL"}},
		{"the unit alone", mark, Answer{Text: "mL"}},
		{"grouped thousands: 1200 bar are not 1.2", bar, Answer{Text: "1,200"}},
		{"grouped thousands below zero", Demand{Ask: "read", Number: &Number{Min: -5, Max: 5}}, Answer{Text: "-1,200"}},
		{"two marks", bar, Answer{Text: "1.2.3"}},
		{"not a number", mark, Answer{Text: "NaN"}},
		{"infinity", mark, Answer{Text: "Inf"}},
		{"infinity below", Demand{Ask: "read", Number: &Number{Min: math.Inf(-1), Max: 5}}, Answer{Text: "-Inf"}},
		{"past the largest number", Demand{Ask: "read", Number: &Number{Min: 0, Max: math.Inf(1)}}, Answer{Text: strings.Repeat("9", 400)}},
		{"hexadecimal", fuse, Answer{Text: "0x11"}},
		{"an exponent", fuse, Answer{Text: "1e1"}},
		{"an underscore", fuse, Answer{Text: "1_7"}},
		{"a plus", fuse, Answer{Text: "+17"}},
		{"digits apart", fuse, Answer{Text: "1 7"}},
		{"full-width digits as a number", fuse, Answer{Text: "１７"}},
		{"Arabic-Indic digits as a number", fuse, Answer{Text: "١٧"}},
		{"a sum", fuse, Answer{Text: "10-7"}},
		{"fewer than before", counted, Answer{Text: "3", Earlier: "4"}},
		{"nothing to compare with", counted, Answer{Text: "4"}},
		{"nothing to compare with, and nothing counted", counted, Answer{Text: "0"}},
		{"a count before that is no number", counted, Answer{Text: "four", Earlier: "four"}},
		{"a range without ends", Demand{Ask: "read", Number: &Number{Min: math.NaN(), Max: math.NaN()}}, Answer{Text: "4"}},
		{"a range upside down", Demand{Ask: "read", Number: &Number{Min: 5, Max: 3}}, Answer{Text: "4"}},
		{"a demand of nothing", Demand{Ask: "anything"}, Answer{Text: "anything"}},
	} {
		c, err := Clear(r.demand, job1, step1, r.answer)
		refused(t, r.because, c, err)
	}
	for _, at := range [][2]string{{"", step1}, {job1, ""}, {"", ""}} {
		c, err := Clear(seen, at[0], at[1], Answer{Text: "dead"})
		refused(t, "no job or no step", c, err)
	}
}

func refused(t *testing.T, because string, c Clearance, err error) {
	t.Helper()
	var refusal Refusal
	if !errors.As(err, &refusal) || refusal.Reason == "" {
		t.Errorf("%s: %v, want a refusal with its reason", because, err)
	}
	if c != (Clearance{}) || c.Proof() != "" {
		t.Errorf("%s: a clearance by %q comes with the refusal", because, c.Proof())
	}
}

func TestRefusalSaysWhy(t *testing.T) {
	for _, r := range []struct {
		demand Demand
		answer Answer
		says   string
	}{
		{seen, Answer{}, "nothing was typed: fuse number, or dead"},
		{seen, Answer{Text: "yes"}, `"yes" is not it: fuse number, or dead`},
		{mark, Answer{Text: "600"}, "600 is outside 613 to 645 mL"},
		{mark, Answer{Text: "half"}, `"half" is not a plain number mL: the mL marked`},
		{counted, Answer{Text: "3", Earlier: "4"}, "3 is not the 4 counted before: look again"},
		{counted, Answer{Text: "3"}, "there is no earlier count to compare with: go back to it"},
	} {
		if _, err := Clear(r.demand, job1, step1, r.answer); err == nil || err.Error() != r.says {
			t.Errorf("%+v: %v, want %q", r.answer, err, r.says)
		}
	}
}

// A clearance is for one step of one job, and the zero one for none.
func TestCovers(t *testing.T) {
	c, err := Clear(seen, job1, step1, Answer{Text: "dead"})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []struct {
		because   string
		clearance Clearance
		job, step string
		covers    bool
	}{
		{"its own", c, job1, step1, true},
		{"another step", c, job1, "ends-capped", false},
		{"another job", c, "0195a1b3", step1, false},
		{"no job", c, "", step1, false},
		{"no step", c, job1, "", false},
		{"one without a proof", Clearance{job: job1, step: step1}, job1, step1, false},
		{"zero", Clearance{}, job1, step1, false},
		{"zero for nothing", Clearance{}, "", "", false},
	} {
		if got := r.clearance.Covers(r.job, r.step); got != r.covers {
			t.Errorf("%s: covers %v, want %v", r.because, got, r.covers)
		}
	}
}

func TestDigits(t *testing.T) {
	at := func(job, step string, seq int64) string {
		d := Digits(job, step, seq)
		if !isThreeDigits(d) {
			t.Fatalf("%s %s %d: %q are not three digits", job, step, seq, d)
		}
		return d
	}
	here := at(job1, step1, 12)
	if here != Digits(job1, step1, 12) {
		t.Error("the same place has other digits the second time")
	}
	for because, other := range map[string]string{
		"another job": at("0195a1b3", step1, 12), "another step": at(job1, "ends-capped", 12), "another place": at(job1, step1, 13),
	} {
		if other == here {
			t.Errorf("%s has the digits %s as well", because, here)
		}
		c, err := Clear(seen, job1, step1, Answer{Text: other, Digits: here})
		refused(t, because, c, err)
	}
}

// Digits are spread over all thousand, and those of the next place in the
// record are the same no more often than chance has it.
func TestDigitsAreSpread(t *testing.T) {
	const places = 20000
	count, repeated, last := map[string]int{}, 0, ""
	for seq := range int64(places) {
		d := Digits(job1, step1, seq)
		if !isThreeDigits(d) {
			t.Fatalf("%d: %q are not three digits", seq, d)
		}
		if d == last {
			repeated++
		}
		count[d]++
		last = d
	}
	// 20 each are expected: 60 would be nine standard deviations off.
	if len(count) != 1000 || repeated > 60 {
		t.Errorf("%d of 1000 digits in use, %d times the same twice running", len(count), repeated)
	}
	for d, n := range count {
		if n > 60 {
			t.Errorf("%s comes %d times in %d", d, n, places)
		}
	}
}

func TestTooEasy(t *testing.T) {
	for _, text := range []string{"", " ", "\t", "y", "Y", "yes", " YES ", "ok", "okay", "j", "ja", "n", "no", "done", "true", "x", "7", "é"} {
		if !TooEasy(text) {
			t.Errorf("%q passes for something seen", text)
		}
	}
	for _, text := range []string{"dead", "dry", "green", "17", "tied", "yesterday"} {
		if TooEasy(text) {
			t.Errorf("%q counts as typed without looking", text)
		}
	}
}

// Nothing but the word, the digits shown or a plain number in range clears.
func FuzzClear(f *testing.F) {
	for _, text := range []string{"", "y", "yes", "ok", "dead", "407", "4 0 7", "17", "1,200", "0x11", "1e1", "NaN", "１７", "620 mL", "-0", ".", "\x00"} {
		f.Add(text, "dead", "407", 1.0, 99.0, "mL", "")
		f.Add(text, "", "", 0.0, 5.0, "", "4")
	}
	f.Add("yes", "yes", "yes", 0.0, 0.0, "", "")
	f.Add("0\xb4", "", "", 0.0, 5.0, "\xff", "")
	f.Add("\xb4\xb4", "\xff\xff", "", 0.0, 5.0, "", "")
	f.Add("17 ML", "", "", 1.0, 99.0, "mL", "")
	f.Add("17 Minutes", "", "", 1.0, 99.0, "min", "")
	f.Fuzz(func(t *testing.T, text, word, digits string, low, high float64, unit, earlier string) {
		bare := strings.TrimSpace(text)
		demands := []Demand{
			{Ask: "ask", Word: word},
			{Ask: "ask", Word: word, Number: &Number{Min: low, Max: high, Unit: unit}},
			{Ask: "ask", Word: word, Number: &Number{Unit: unit, Equals: "count"}},
		}
		for _, d := range demands {
			c, err := Clear(d, job1, step1, Answer{Text: text, Digits: digits, Earlier: earlier})
			if err != nil {
				refused(t, text, c, err)
				continue
			}
			if !c.Covers(job1, step1) {
				t.Fatalf("%q: a clearance that covers nothing", text)
			}
			if !utf8.ValidString(text) {
				t.Fatalf("%q clears and is no text", text)
			}
			switch c.Proof() {
			case "word":
				if !strings.EqualFold(bare, word) || TooEasy(text) {
					t.Fatalf("%q passes for the word %q", text, word)
				}
			case "digits":
				if word == "" || !isThreeDigits(digits) || strings.ReplaceAll(bare, " ", "") != digits {
					t.Fatalf("%q passes for the digits %q", text, digits)
				}
			case "number":
				number := withoutUnit(bare, unit)
				if d.Number == nil || number == "" || strings.Trim(number, "0123456789.,-") != "" || !strings.ContainsAny(number, "0123456789") {
					t.Fatalf("%q passes for a number", text)
				}
				x, ok := plainNumber(text, unit)
				inRange := low <= x && x <= high
				if d.Number.Equals != "" {
					want, there := plainNumber(earlier, unit)
					inRange = there && x == want
				}
				if !ok || !inRange {
					t.Fatalf("%q passes for a number in range %g to %g, or as %q", text, low, high, earlier)
				}
			default:
				t.Fatalf("%q is cleared by %q", text, c.Proof())
			}
			if strings.EqualFold(bare, "yes") {
				t.Fatalf("%q clears", text)
			}
		}
	})
}

// withoutUnit gives what stands before a unit, in whatever case it is written.
func withoutUnit(text, unit string) string {
	for _, name := range append([]string{unit}, unitNames[unit]...) {
		for i := range text {
			if name != "" && strings.EqualFold(text[i:], name) {
				return strings.TrimSpace(text[:i])
			}
		}
	}
	return text
}
