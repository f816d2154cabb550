package safety

import (
	"crypto/sha256"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Demand is what must be proved before a step counts: something seen at the
// vehicle and typed. At least one of Word and Number is there.
type Demand struct {
	Ask    string  `json:"ask"`              // what to type, in a few words
	Word   string  `json:"word,omitempty"`   // what was seen; three digits shown beside it serve as well
	Number *Number `json:"number,omitempty"` // a number read or counted
}

// Number is a number that a demand accepts.
type Number struct {
	Min    float64 `json:"min"`
	Max    float64 `json:"max"`
	Unit   string  `json:"unit,omitempty"`
	Equals string  `json:"equals,omitempty"` // a step whose value it must be
}

// Answer is what was typed for a demand.
type Answer struct {
	Text    string
	Digits  string // the three digits that were shown beside the demand
	Earlier string // the value of the step that Number.Equals names
}

// Clearance is the proof that a demand was met, for one step of one job. Only
// [Clear] makes one; the zero Clearance clears nothing.
type Clearance struct {
	job, step string
	proof     string // what was accepted: word, digits or number
}

// Covers tells whether the clearance is one for this step of this job.
func (c Clearance) Covers(job, step string) bool {
	return c.proof != "" && job != "" && c.job == job && c.step == step
}

// Proof tells what was accepted: word, digits or number.
func (c Clearance) Proof() string { return c.proof }

// Refusal is why an answer does not meet a demand, in words for the person
// who gave it.
type Refusal struct{ Reason string }

func (r Refusal) Error() string { return r.Reason }

func refuse(format string, args ...any) (Clearance, error) {
	return Clearance{}, Refusal{fmt.Sprintf(format, args...)}
}

// tooEasy are the words that a hand types without the eye having looked.
var tooEasy = []string{"y", "yes", "ok", "okay", "j", "ja", "n", "no", "done", "true", "x", "d"}

// TooEasy tells whether a text is one of the words, or so short, that it proves
// nothing: empty, a single character, yes and its like.
func TooEasy(text string) bool {
	text = strings.ToLower(strings.TrimSpace(text))
	if utf8.RuneCountInString(text) < 2 {
		return true
	}
	for _, w := range tooEasy {
		if text == w {
			return true
		}
	}
	return false
}

// Clear judges an answer to a demand. What it accepts becomes a clearance bound
// to the step and the job; the error is a [Refusal].
func Clear(d Demand, job, step string, a Answer) (Clearance, error) {
	text := strings.TrimSpace(a.Text)
	if job == "" || step == "" || (d.Word == "" && d.Number == nil) {
		return refuse("there is nothing here that could be proved")
	}
	if text == "" {
		return refuse("nothing was typed: %s", d.Ask)
	}
	if !utf8.ValidString(text) { // bytes that are no text are all alike to what compares words
		return refuse("%q is not text: %s", text, d.Ask)
	}
	if d.Word != "" && strings.EqualFold(text, d.Word) && !TooEasy(text) {
		return Clearance{job, step, "word"}, nil
	}
	if d.Word != "" && isThreeDigits(a.Digits) && strings.ReplaceAll(text, " ", "") == a.Digits {
		return Clearance{job, step, "digits"}, nil
	}
	if d.Number != nil {
		return d.Number.clear(d, job, step, text, a.Earlier)
	}
	return refuse("%q is not it: %s", text, d.Ask)
}

func (n Number) clear(d Demand, job, step, text, earlier string) (Clearance, error) {
	x, ok := plainNumber(text, n.Unit)
	if !ok && d.Word != "" {
		return refuse("%q is not it: %s", text, d.Ask)
	}
	if !ok {
		return refuse("%q is not a plain number%s: %s", text, inUnit(n.Unit), d.Ask)
	}
	if n.Equals != "" {
		want, ok := plainNumber(earlier, n.Unit)
		if !ok {
			return refuse("there is no earlier count to compare with: go back to it")
		}
		if x != want {
			return refuse("%s is not the %s counted before: look again", text, earlier)
		}
		return Clearance{job, step, "number"}, nil
	}
	if !(n.Min <= x && x <= n.Max) { // also where an end is no number
		return refuse("%s is outside %s to %s%s", text, trim(n.Min), trim(n.Max), inUnit(n.Unit))
	}
	return Clearance{job, step, "number"}, nil
}

func isThreeDigits(text string) bool {
	return len(text) == 3 && strings.Trim(text, "0123456789") == ""
}

// unitNames are units as they are written out.
var unitNames = map[string][]string{
	"min": {"minutes", "minute", "mins"},
	"s":   {"seconds", "second", "sec"},
}

// plainNumber reads a decimal number, with its unit behind it or without. The
// mark may be a comma where it cannot be meant to group thousands: 1,200 could
// be read as next to nothing.
func plainNumber(text, unit string) (float64, bool) {
	text = strings.TrimSpace(text)
	for _, name := range append([]string{unit}, unitNames[unit]...) {
		if before, ok := strings.CutSuffix(strings.ToLower(text), strings.ToLower(name)); ok && name != "" {
			text = strings.TrimSpace(before)
			break
		}
	}
	whole, part, comma := strings.Cut(text, ",")
	if comma && len(part) == 3 && strings.Trim(whole, "-0") != "" {
		return 0, false
	}
	text = strings.Replace(text, ",", ".", 1)
	if strings.Trim(text, "-.0123456789") != "" {
		return 0, false
	}
	x, err := strconv.ParseFloat(text, 64)
	return x, err == nil // too large a number is an error
}

func inUnit(unit string) string {
	if unit == "" {
		return ""
	}
	return " " + unit
}

func trim(x float64) string { return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64) }

// Digits gives the three digits that are shown beside a demand and serve where
// a word would do, so that a keypad is enough. They are drawn anew for each job,
// step and place in the record, so that those of another place serve by a chance
// of one in a thousand only, and a replay finds the same.
func Digits(job, step string, seq int64) string {
	sum := sha256.Sum256(fmt.Appendf(nil, "%s\x00%s\x00%d", job, step, seq))
	n := int(sum[0])<<16 | int(sum[1])<<8 | int(sum[2])
	return fmt.Sprintf("%03d", n%1000)
}
