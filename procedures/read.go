package procedures

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"daytank/planner/quantity"
	"daytank/planner/strict"
	"daytank/safety"
)

// Lengths of texts, in characters, so that they stand on a screen.
const (
	longestID  = 32
	longestSay = 200
	longestWhy = 240
)

var idForm = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`) })

func readID(v strict.Value) string {
	id := v.Text()
	if id != "" && (!idForm().MatchString(id) || len(id) > longestID) {
		v.Problem("%q is not lower-case words joined by hyphens, at most %d characters", id, longestID)
	}
	return id
}

// readText reads a text by language whose placeholders are known.
func readText(v strict.Value, longest int) string {
	if !v.Present() {
		return ""
	}
	text := strict.English(v)
	if n := utf8.RuneCountInString(text); n > longest {
		v.Problem("the text has %d characters, more than %d", n, longest)
	}
	for _, name := range placeholdersIn(text) {
		if !isPlaceholder(name) {
			v.Problem("{%s} is not a plan value that texts can name", name)
		}
	}
	return text
}

var placeholder = sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(`\{([^{}]*)\}`) })

func placeholdersIn(text string) []string {
	var names []string
	for _, m := range placeholder().FindAllStringSubmatch(text, -1) {
		names = append(names, m[1])
	}
	return names
}

func isPlaceholder(name string) bool {
	for _, p := range Placeholders {
		if p == name {
			return true
		}
	}
	return false
}

// Fill puts values in the place of the names in braces.
func Fill(text string, values map[string]string) string {
	return placeholder().ReplaceAllStringFunc(text, func(found string) string {
		if value, ok := values[found[1:len(found)-1]]; ok {
			return value
		}
		return found
	})
}

// readStep reads one step; m is its mapping, which is closed.
func readStep(m *strict.Mapping) Step {
	s := Step{
		ID:      readID(m.Required("id")),
		Kind:    m.Required("kind").OneOf(Do, Confirm, Value, Choice, Timer, Run, Test),
		Say:     readText(m.Required("say"), longestSay),
		Why:     readText(m.Required("why"), longestWhy),
		How:     readText(m.Optional("how"), longestWhy),
		Hazard:  m.Optional("hazard").Text(),
		Control: m.Optional("control").Text(),
		Until:   m.Optional("until").Text(),
		Takes:   strict.Within(m.Required("takes"), quantity.ParseDuration, quantity.Seconds(1), quantity.Hours(12)),
		Group:   m.Optional("group").Text(),
		Sets:    m.Optional("sets").OneOf(Settable...),
		Photo:   m.Optional("photo").OneOf("optional", "wanted"),
		Source:  m.Required("source").Text(),
	}
	if v := m.Optional("rings"); v.Present() {
		s.Rings = v.Bool()
	}
	if v := m.Optional("applies"); v.Present() {
		s.Applies = strict.Read(v, ParseCondition)
	}
	if v := m.Optional("hold"); v.Present() {
		s.Hold = readHold(v.Map())
	}
	s.readKind(m)
	m.Close()
	return s
}

// readKind reads what only steps of one kind have; a key of another kind is
// refused as unknown.
func (s *Step) readKind(m *strict.Mapping) {
	switch s.Kind {
	case Confirm:
		s.Demand = readDemand(m.Required("demand").Map())
	case Value:
		s.Value = readValue(m.Required("value").Map())
	case Choice:
		s.Options = readOptions(m.Required("options"))
	case Timer:
		s.Timer = readTimer(m.Required("timer").Map())
	case Test:
		t := m.Required("test").Map()
		s.Test = &TestSpec{Phase: t.Required("phase").OneOf("before", "after"), State: t.Required("state").OneOf("cold", "hot")}
		t.Close()
	}
	if s.Hold != nil && s.Kind != Do && s.Kind != Confirm && s.Kind != Value {
		m.Optional("hold").Problem("only what is done, confirmed or read is released by somebody else")
	}
	if s.Sets != "" && s.Kind != Value && s.Kind != Choice && s.Sets != "rig.return_fastened" {
		m.Optional("sets").Problem("only a value or a choice says what is written")
	}
}

func readDemand(m *strict.Mapping) *Demand {
	d := &Demand{}
	d.Ask = readText(m.Required("ask"), longestSay)
	d.Word = m.Optional("word").Text()
	if v := m.Optional("number"); v.Present() {
		d.readNumber(v.Map())
	}
	if d.Word == "" && d.Number == nil {
		m.Problem("a demand wants a word or a number")
	}
	m.Close()
	return d
}

func (d *Demand) readNumber(m *strict.Mapping) {
	n := &safety.Number{}
	if v := m.Optional("unit"); v.Present() && !v.IsEmpty() {
		n.Unit = v.Text()
	}
	near, equals := m.Optional("near"), m.Optional("equals_step")
	switch {
	case near.Present():
		d.Near = near.OneOf("stop_level", "charge", "flush")
		d.Within = strict.Read(m.Required("within"), parsePercent)
	case equals.Present():
		n.Equals = readID(equals)
	default:
		n.Min = m.Required("min").Number(-1e6, 1e6)
		n.Max = m.Required("max").Number(-1e6, 1e6)
		if n.Max < n.Min {
			m.Problem("max is below min")
		}
	}
	d.Number = n
	m.Close()
}

func parsePercent(text string) (float64, error) {
	number, ok := strings.CutSuffix(strings.TrimSpace(text), "%")
	x, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
	if !ok || err != nil || x <= 0 || x > 50 {
		return 0, fmt.Errorf("%q is not a percentage from above 0 to 50 such as 5 %%", text)
	}
	return x / 100, nil
}

func readHold(m *strict.Mapping) *Hold {
	h := &Hold{Alone: m.Required("alone").OneOf("self-check", "refuse")}
	if h.Alone == "self-check" {
		h.Ask = readText(m.Required("ask"), longestSay)
		h.Word = m.Required("word").Text()
	}
	m.Close()
	return h
}

func readValue(m *strict.Mapping) *ValueSpec {
	v := &ValueSpec{}
	if m.Optional("text").Present() {
		v.Text = m.Optional("text").Bool()
		m.Close()
		return v
	}
	v.Unit = m.Required("unit").OneOf(Units...)
	v.Min = m.Required("min").Number(-1e7, 1e7)
	v.Max = m.Required("max").Number(-1e7, 1e7)
	if v.Max < v.Min {
		m.Problem("max is below min")
	}
	m.Close()
	return v
}

// Units are those a value step may ask for.
var Units = []string{"mL", "L", "degC", "count", "mm3/stroke", "km", "h", "L/h", "bar", "rpm", "mm", "s", "min", "none"}

func readOptions(v strict.Value) []Option {
	var options []Option
	seen := map[string]bool{}
	for _, item := range v.List() {
		m := item.Map()
		o := Option{
			Key:   readID(m.Required("key")),
			Say:   readText(m.Required("say"), longestSay),
			Value: m.Optional("value").Text(),
			Goes:  m.Required("goes").Text(),
		}
		m.Close()
		if seen[o.Key] {
			item.Problem("option %q is there twice", o.Key)
		}
		seen[o.Key] = true
		options = append(options, o)
	}
	if v.Present() && len(options) < 2 {
		v.Problem("a choice has at least two answers")
	}
	return options
}

func readTimer(m *strict.Mapping) *TimerSpec {
	t := &TimerSpec{}
	until := m.Optional("until_below")
	if until.Present() {
		t.UntilBelow = strict.MaybeWithin(until, quantity.ParseTemperature, quantity.Celsius(0), quantity.Celsius(100))
		if least := m.Optional("for"); least.Present() {
			t.For = strict.Within(least, quantity.ParseDuration, quantity.Seconds(1), quantity.Hours(24))
		}
		t.AtMost = strict.Within(m.Required("at_most"), quantity.ParseDuration, quantity.Minutes(1), quantity.Hours(24))
	} else {
		t.For = strict.Within(m.Required("for"), quantity.ParseDuration, quantity.Seconds(1), quantity.Hours(24))
	}
	m.Close()
	return t
}
