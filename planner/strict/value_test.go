package strict

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

// rig is a small section as the readers of job files have them.
type rig struct {
	Name     string
	Feed     string
	People   int
	Loss     float64
	Taps     bool
	Length   quantity.Length
	Lift     quantity.Length
	Charge   *quantity.Volume
	Rating   *quantity.Temperature
	Hazards  []string
	Hose     quantity.Length
	HasHose  bool
	Comments string
}

func readRig(text string) (r rig, problems []string) {
	doc, err := Parse("f", []byte(text))
	if err != nil {
		return rig{}, split(err)
	}
	m := doc.Root().Map()
	r.Name = m.Required("name").Text()
	r.Feed = m.Optional("feed").OneOf("engine", "pump")
	r.People = m.Optional("people").Integer(1, 20)
	r.Loss = m.Optional("minor_loss").Number(0, 1000)
	r.Taps = m.Optional("taps").Bool()
	r.Length = Within(m.Optional("length"), quantity.ParseLength, quantity.Millimetres(10), quantity.Metres(100))
	r.Lift = Read(m.Optional("lift"), quantity.ParseLength)
	r.Charge = MaybeWithin(m.Optional("charge"), quantity.ParseVolume, quantity.Millilitres(1), quantity.Litres(10))
	r.Rating = Maybe(m.Optional("rating"), quantity.ParseTemperature)
	for _, v := range m.Optional("hazards").List() {
		r.Hazards = append(r.Hazards, v.Text())
	}
	hose := m.Optional("hose").Map()
	r.Hose = Read(hose.Required("bore"), quantity.ParseLength)
	r.HasHose = hose.Present()
	hose.Close()
	if v := m.Optional("comment"); v.Present() {
		r.Comments = English(v)
	}
	m.Close()
	return r, split(doc.Err())
}

func TestValuesOfADocument(t *testing.T) {
	charge, rating := quantity.Litres(1.8), quantity.Celsius(100)
	tests := []struct {
		name, text string
		want       rig
		problems   []string
	}{
		{
			name: "all of them",
			text: "name: cleaner rig\nfeed: pump\npeople: 2\nminor_loss: 1.5\ntaps: true\nlength: 1.5 m\nlift: -40 cm\n" +
				"charge: 1.8 L\nrating: 100 °C\nhazards: [H304, H315]\nhose: {bore: 8 mm}\ncomment: {en: tied, de: gebunden}\n",
			want: rig{
				Name: "cleaner rig", Feed: "pump", People: 2, Loss: 1.5, Taps: true, Length: 1.5, Lift: -0.4,
				Charge: &charge, Rating: &rating, Hazards: []string{"H304", "H315"}, Hose: 0.008, HasHose: true, Comments: "tied",
			},
		},
		{name: "only what is needed", text: "name: a\n", want: rig{Name: "a"}},
		{name: "what is needed is missing", text: "feed: engine\n", want: rig{Feed: "engine"}, problems: []string{"f:1:1: name: is missing"}},
		{
			name: "it is missing further in, at the brace", text: "name: a\nhose: {}\n", want: rig{Name: "a", HasHose: true},
			problems: []string{"f:2:7: hose.bore: is missing"},
		},
		{
			name: "missing further in, at the first key", text: "name: a\nhose:\n  bor: 8 mm\n", want: rig{Name: "a", HasHose: true},
			problems: []string{"f:3:3: hose.bore: is missing", "f:3:3: hose.bor: this key is not known here; did you mean bore?"},
		},
		{name: "nothing behind a key", text: "name:\n", problems: []string{"f:1:6: name: nothing is given"}},
		{name: "an empty text", text: "name: ''\n", problems: []string{"f:1:7: name: nothing is given"}},
		{name: "a null", text: "name: ~\n", problems: []string{"f:1:7: name: nothing is given"}},
		{name: "a null in quotes is a word", text: "name: 'null'\n", want: rig{Name: "null"}},
		{name: "a list for a word", text: "name: [a]\n", problems: []string{"f:1:7: name: one value is wanted here, not a list"}},
		{name: "a mapping for a word", text: "name: {a: b}\n", problems: []string{"f:1:7: name: one value is wanted here, not a mapping"}},
		{name: "a word for a list", text: "name: a\nhazards: H304\n", want: rig{Name: "a"}, problems: []string{"f:2:10: hazards: a list is wanted here"}},
		{name: "an item that is a list", text: "name: a\nhazards: [H304, [H315]]\n", want: rig{Name: "a", Hazards: []string{"H304", ""}}, problems: []string{"f:2:17: hazards.1: one value is wanted here, not a list"}},
		{name: "a word for a mapping", text: "name: a\nhose: 8 mm\n", want: rig{Name: "a"}, problems: []string{"f:2:7: hose: a mapping (key: value) is wanted here"}},
		{name: "a list for the document", text: "- name\n", problems: []string{"f:1:1: a mapping (key: value) is wanted here"}},
		{name: "a word for the document", text: "name\n", problems: []string{"f:1:1: a mapping (key: value) is wanted here"}},
		{name: "an unknown key", text: "name: a\ncolour: red\n", want: rig{Name: "a"}, problems: []string{"f:2:1: colour: this key is not known here"}},
		{name: "a key misspelt", text: "name: a\npeopel: 2\n", want: rig{Name: "a"}, problems: []string{"f:2:1: peopel: this key is not known here; did you mean people?"}},
		{name: "not one of the words", text: "name: a\nfeed: Pump\n", want: rig{Name: "a"}, problems: []string{`f:2:7: feed: "Pump" is not one of engine, pump`}},
		{name: "a truth in another word", text: "name: a\ntaps: yes\n", want: rig{Name: "a"}, problems: []string{`f:2:7: taps: "yes" is not one of true, false`}},
		{name: "a whole number with a zero before it", text: "name: a\npeople: 010\n", want: rig{Name: "a"}, problems: []string{`f:2:9: people: "010" is not a whole number in plain digits`}},
		{name: "a whole number in eights", text: "name: a\npeople: 0o10\n", want: rig{Name: "a"}, problems: []string{`f:2:9: people: "0o10" is not a whole number in plain digits`}},
		{name: "a whole number with underscores", text: "name: a\npeople: 1_0\n", want: rig{Name: "a"}, problems: []string{`f:2:9: people: "1_0" is not a whole number in plain digits`}},
		{name: "a whole number that is not", text: "name: a\npeople: 2.0\n", want: rig{Name: "a"}, problems: []string{`f:2:9: people: "2.0" is not a whole number in plain digits`}},
		{name: "a whole number no machine holds", text: "name: a\npeople: 99999999999999999999\n", want: rig{Name: "a"}, problems: []string{`f:2:9: people: "99999999999999999999" is not a whole number in plain digits`}},
		{name: "too few", text: "name: a\npeople: 0\n", want: rig{Name: "a"}, problems: []string{"f:2:9: people: 0 is outside 1 to 20"}},
		{name: "too many", text: "name: a\npeople: 21\n", want: rig{Name: "a"}, problems: []string{"f:2:9: people: 21 is outside 1 to 20"}},
		{name: "not a number", text: "name: a\nminor_loss: NaN\n", want: rig{Name: "a"}, problems: []string{`f:2:13: minor_loss: "NaN" is not a plain number such as 4 or 1.5, without a unit`}},
		{name: "not a number, as YAML has it", text: "name: a\nminor_loss: .nan\n", want: rig{Name: "a"}, problems: []string{`f:2:13: minor_loss: ".nan" is not a plain number such as 4 or 1.5, without a unit`}},
		{name: "infinity", text: "name: a\nminor_loss: Inf\n", want: rig{Name: "a"}, problems: []string{`f:2:13: minor_loss: "Inf" is not a plain number such as 4 or 1.5, without a unit`}},
		{name: "a number with an exponent", text: "name: a\nminor_loss: 1e2\n", want: rig{Name: "a"}, problems: []string{`f:2:13: minor_loss: "1e2" is not a plain number such as 4 or 1.5, without a unit`}},
		{name: "a number with a unit", text: "name: a\nminor_loss: 1 m\n", want: rig{Name: "a"}, problems: []string{`f:2:13: minor_loss: "1 m" is not a plain number such as 4 or 1.5, without a unit`}},
		{name: "a number outside", text: "name: a\nminor_loss: 1000.5\n", want: rig{Name: "a"}, problems: []string{"f:2:13: minor_loss: 1000.5 is outside 0 to 1000"}},
		{name: "a quantity without a unit", text: "name: a\nlift: 4\n", want: rig{Name: "a"}, problems: []string{`f:2:7: lift: length "4": a unit is missing; accepted: mm, cm, m, in, ft`}},
		{name: "a quantity of another kind", text: "name: a\nlift: 4 L\n", want: rig{Name: "a"}, problems: []string{`f:2:7: lift: "4 L" is a volume, a length is wanted; accepted: mm, cm, m, in, ft`}},
		{name: "a quantity that is not a number", text: "name: a\nlift: NaN m\n", want: rig{Name: "a"}, problems: []string{`f:2:7: lift: length "NaN m": a finite number is wanted`}},
		{name: "a quantity outside its range", text: "name: a\nlength: 1 mm\n", want: rig{Name: "a"}, problems: []string{"f:2:9: length: 1 mm is outside 10 mm to 100 m"}},
		{name: "a quantity of nothing is one problem", text: "name: a\nlength:\n", want: rig{Name: "a"}, problems: []string{"f:2:8: length: nothing is given"}},
		{name: "a quantity in a mapping is one problem", text: "name: a\nlength: {m: 1}\n", want: rig{Name: "a"}, problems: []string{"f:2:9: length: one value is wanted here, not a mapping"}},
		{name: "a quantity that may be missing, outside", text: "name: a\ncharge: 11 L\n", want: rig{Name: "a"}, problems: []string{"f:2:9: charge: 11 L is outside 1 mL to 10.0 L"}},
		{name: "a quantity that may be missing, unread", text: "name: a\nrating: hot\n", want: rig{Name: "a"}, problems: []string{`f:2:9: rating: temperature "hot": it does not begin with a number`}},
		{name: "no English", text: "name: a\ncomment: {de: gebunden}\n", want: rig{Name: "a"}, problems: []string{"f:2:10: comment.en: is missing"}},
		{name: "a language that is none", text: "name: a\ncomment: {en: tied, english: tied}\n", want: rig{Name: "a", Comments: "tied"}, problems: []string{`f:2:10: comment: "english" is not a language of two letters such as en`}},
		{
			name: "several at once, in the order of the file whatever that of the reader",
			text: "hazards: H304\nhose: {bor: 8 mm}\nlift: 4\ncolour: red\npeople: 010\nhose: {bore: 8 mm}\n",
			want: rig{Hose: 0.008, HasHose: true},
			problems: []string{
				"f:1:1: name: is missing",
				"f:1:10: hazards: a list is wanted here",
				`f:3:7: lift: length "4": a unit is missing; accepted: mm, cm, m, in, ft`,
				"f:4:1: colour: this key is not known here",
				`f:5:9: people: "010" is not a whole number in plain digits`,
				"f:6:1: hose: given twice, first on line 2",
			},
		},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			got, problems := readRig(tt.text)
			if diff := cmp.Diff(tt.problems, problems); diff != "" {
				t.Errorf("problems (-want +got):\n%s", diff)
			}
			if diff := cmp.Diff(tt.want, got); diff != "" {
				t.Errorf("values (-want +got):\n%s", diff)
			}
		})
	}
}

func TestNearest(t *testing.T) {
	words := []string{"supply_hose", "return_hose", "lift", "for"}
	tests := []struct{ text, want string }{
		{"suply_hose", "supply_hose"},
		{"return-hose", "return_hose"},
		{"retrun_hos", "return_hose"}, // three edits of ten letters
		{"lift", "lift"},
		{"lit", "lift"},
		{"lid", ""}, // two edits of three letters
		{"fo", ""},  // too short for an edit
		{"", ""},
		{"pressure", ""},
	}
	for _, tt := range tests {
		if got := Nearest(tt.text, words); got != tt.want {
			t.Errorf("Nearest(%q) = %q, want %q", tt.text, got, tt.want)
		}
	}
}

// TestEdits has the distances worked out by hand.
func TestEdits(t *testing.T) {
	tests := []struct {
		a, b string
		want int
	}{
		{"", "", 0},
		{"", "abc", 3},
		{"abc", "", 3},
		{"abc", "abc", 0},
		{"hose", "hoes", 2},
		{"flush", "flash", 1},
		{"burn", "return", 3},
	}
	for _, tt := range tests {
		if got := edits(tt.a, tt.b); got != tt.want {
			t.Errorf("edits(%q, %q) = %d, want %d", tt.a, tt.b, got, tt.want)
		}
		if got := edits(tt.b, tt.a); got != tt.want {
			t.Errorf("edits(%q, %q) = %d, want %d", tt.b, tt.a, got, tt.want)
		}
	}
}

func TestWhatAValueTellsOfItself(t *testing.T) {
	doc, err := Parse("f", []byte("text: a\nempty: ''\nnone:\nlist: [a]\nmap: {a: b}\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := doc.Root().Map()
	var got []string
	for _, key := range append(m.Keys(), "missing") {
		v := m.Optional(key)
		got = append(got, fmt.Sprint(v.Path(), " ", v.Present(), v.IsText(), v.IsEmpty(), v.IsList()))
	}
	want := []string{
		"text true true false false",
		"empty true true true false",
		"none true true false false",
		"list true false false true",
		"map true false false false",
		"missing false false false false",
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("present, text, empty, list (-want +got):\n%s", diff)
	}
}

func TestReadGivesTheErrorOfTheParser(t *testing.T) {
	doc, err := Parse("f", []byte("{a: '12', b: x}"))
	if err != nil {
		t.Fatal(err)
	}
	m := doc.Root().Map()
	if got := Read(m.Optional("a"), strconv.Atoi); got != 12 {
		t.Errorf("got %d", got)
	}
	if got := Read(m.Optional("b"), strconv.Atoi); got != 0 {
		t.Errorf("got %d", got)
	}
	want := []string{`f:1:14: b: strconv.Atoi: parsing "x": invalid syntax`}
	if diff := cmp.Diff(want, split(doc.Err())); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestLineIsOneLineOfText(t *testing.T) {
	long := strings.Repeat("é", longestLine)
	for text, want := range map[string]string{
		`"Van 7, left bank"`: "Van 7, left bank",
		long:                 long,
		long + "e":           "f:1:4: a: 201 characters are more than the 200 of one line",
		`"a\nb"`:             "f:1:4: a: one line of text is wanted here",
		`"a\tb"`:             "f:1:4: a: one line of text is wanted here",
		`"a\u2028b"`:         "f:1:4: a: control character U+2028",
		`""`:                 "f:1:4: a: nothing is given",
	} {
		doc, err := Parse("f", []byte("a: "+text+"\n"))
		if err != nil {
			t.Fatal(err)
		}
		got := doc.Root().Map().Required("a").Line()
		if err := doc.Err(); err != nil {
			got = err.Error()
		}
		if got != want {
			t.Errorf("%s: got %q, want %q", text, got, want)
		}
	}
}
