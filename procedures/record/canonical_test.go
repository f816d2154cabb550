package record

import (
	"bytes"
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"pgregory.net/rapid"
)

// Inputs and results as published in RFC 8785, without its fractions and
// exponents, which this format refuses.
func TestCanonicalRFC8785(t *testing.T) {
	for _, c := range []struct{ section, in, want string }{
		{
			"3.2.2", `{"string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/", "literals": [null, true, false]}`,
			`{"literals":[null,true,false],"string":"€$\u000f\nA'B\"\\\\\"/"}`,
		},
		{
			"3.2.3", `{"\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh", "1": "One",
				"\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control", "\u00f6": "Latin Small Letter O With Diaeresis"}`,
			`{"\r":"Carriage Return","1":"One",` + "\"\u0080\"" + `:"Control","ö":"Latin Small Letter O With Diaeresis",` +
				`"€":"Euro Sign","😀":"Emoji: Grinning Face",` + "\"\ufb33\"" + `:"Hebrew Letter Dalet With Dagesh"}`,
		},
		{"3.2.2.2", `"\u0000\u0008\u0009\u000a\u000c\u000d\u001F\u007f\u2028\u2029<>&"`, `"\u0000\b\t\n\f\r\u001f` + "\x7f\u2028\u2029" + `<>&"`},
		{"appendix B", `0`, `0`},
		{"appendix B (minus zero)", `-0`, `0`},
		{"appendix B", `9007199254740992`, `9007199254740992`},
		{"appendix B", `-9007199254740992`, `-9007199254740992`},
		{"3.2.1", " [ 56 , { \"d\" : true , \"10\" : null , \"1\" : [ ] } ] ", `[56,{"1":[],"10":null,"d":true}]`},
	} {
		got, err := Canonical(json.RawMessage(c.in))
		if err != nil {
			t.Errorf("RFC 8785 %s: %v", c.section, err)
		} else if string(got) != c.want {
			t.Errorf("RFC 8785 %s:\n got %s\nwant %s", c.section, got, c.want)
		}
	}
}

func TestCanonicalOfGoValues(t *testing.T) {
	type inner struct {
		Z  string `json:"z"`
		A  *int64 `json:"a,omitempty"`
		No string `json:"-"`
	}
	n := int64(-3)
	for _, c := range []struct {
		in   any
		want string
	}{
		{nil, `null`},
		{map[string]any{"b": []any{1, uint8(2), nil}, "a": true}, `{"a":true,"b":[1,2,null]}`},
		{inner{Z: "<&>\u2028"}, `{"z":"<&>` + "\u2028" + `"}`},
		{[]inner{{A: &n, No: "\xff"}}, `[{"a":-3,"z":""}]`},
		{map[string]Hash{"h": {0xab}}, `{"h":"ab` + strings.Repeat("0", 62) + `"}`},
		{struct{ U uuid.UUID }{uuid.MustParse("018F3A5C-7D20-7000-8000-00000000B0A7")}, `{"U":"018f3a5c-7d20-7000-8000-00000000b0a7"}`},
		{json.Number("12"), `12`},
		{[]byte("ab"), `"YWI="`},
		{uint64(MaxInteger), `9007199254740992`},
	} {
		got, err := Canonical(c.in)
		if err != nil || string(got) != c.want {
			t.Errorf("%#v: got %s, %v; want %s", c.in, got, err, c.want)
		}
	}
}

func TestCanonicalRefuses(t *testing.T) {
	type embedded struct{ Note string }
	cycle := map[string]any{}
	cycle["again"] = cycle
	for _, c := range []struct {
		name, says string
		in         any
	}{
		{"float", "level: 1.5 is a float", map[string]any{"level": 1.5}},
		{"float with a whole value", "is a float", struct{ F float64 }{5}},
		{"float32", "[1]: 2 is a float", []any{1, float32(2)}},
		{"not a number", "is a float", math.NaN()},
		{"fraction in JSON", "1.0 is not an integer", json.RawMessage(`1.0`)},
		{"exponent in JSON", "1e3 is not an integer", json.RawMessage(`[1e3]`)},
		{"number with a fraction", "is not an integer", json.Number("0.5")},
		{"2^53+1", "beyond ±2^53", int64(MaxInteger + 1)},
		{"-2^53-1", "beyond ±2^53", int64(-MaxInteger - 1)},
		{"far beyond", "beyond ±2^53", json.RawMessage(`99999999999999999999`)},
		{"uint64", "beyond ±2^53", uint64(math.MaxUint64)},
		{"not UTF-8", `"\xff" is not UTF-8`, "\xff"},
		{"not UTF-8 in a field", "embedded.Note: ", struct{ embedded }{embedded{"a\xc3"}}},
		{"not UTF-8 in a key", "not UTF-8", map[string]int{"\xc0\xaf": 1}},
		{"not UTF-8 in JSON", "not UTF-8", json.RawMessage("\"\xed\xa0\x80\"")},
		{"key twice", `key "a" is given twice`, json.RawMessage(`{"a":1,"a":1}`)},
		{"key twice, once escaped", `key "a" is given twice`, json.RawMessage(`{"a":1,"\u0061":2}`)},
		{"half a pair", "half of a surrogate pair", json.RawMessage(`"\ud83d"`)},
		{"pair the wrong way", "half of a surrogate pair", json.RawMessage(`"\ude00\ud83d"`)},
		{"too deep", "nested deeper", json.RawMessage(strings.Repeat("[", 80) + strings.Repeat("]", 80))},
		{"too deep in objects", "nested deeper", json.RawMessage(strings.Repeat(`{"a":`, 80) + "1" + strings.Repeat("}", 80))},
		{"a cycle", "nested deeper", cycle},
		{"a list that holds itself", "[0][0]: nested deeper", cycleOfLists()},
		{"a struct that holds itself", "Next.Next: nested deeper", cycleOfStructs()},
		{"a channel", "unsupported type", make(chan int)},
	} {
		got, err := Canonical(c.in)
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %s, %v; want an error with %q", c.name, got, err, c.says)
		}
	}
}

// lists is nothing but nesting; the innermost is null.
type lists []lists

func cycleOfLists() lists {
	cycle := lists{nil}
	cycle[0] = cycle
	return cycle
}

func cycleOfStructs() any {
	type link struct{ Next *link }
	cycle := &link{}
	cycle.Next = cycle
	return cycle
}

// Objects and lists are read as deep as is said and not deeper, from text and from
// Go values.
func TestNestingUpToTheLimit(t *testing.T) {
	for _, c := range []struct {
		name string
		of   func(depth int) any
	}{
		{"lists in text", func(depth int) any {
			return json.RawMessage(strings.Repeat("[", depth) + "1" + strings.Repeat("]", depth))
		}},
		{"objects in text", func(depth int) any {
			return json.RawMessage(strings.Repeat(`{"a":`, depth) + "1" + strings.Repeat("}", depth))
		}},
		{"lists", func(depth int) any {
			var nest lists
			for range depth {
				nest = lists{nest}
			}
			return nest
		}},
	} {
		if _, err := Canonical(c.of(MaxDepth)); err != nil {
			t.Errorf("%s: %v", c.name, err)
		}
		if _, err := Canonical(c.of(MaxDepth + 1)); err == nil || !strings.Contains(err.Error(), "nested deeper than 64") {
			t.Errorf("%s: got %v", c.name, err)
		}
	}
}

// Text that is cut is refused for what is missing, at the byte where it is missing;
// what stands behind the cut is not looked at.
func TestCutTextIsRefused(t *testing.T) {
	for _, c := range []struct{ text, says string }{
		{`"`, "byte 2: text without an end"},
		{`"ab`, "byte 4: text without an end"},
		{`"\`, "byte 3: unknown escape"},
		{`"\u20a`, "byte 3: escape without an end"},
		{`"\u20ac`, "byte 8: text without an end"},
		{`"\ud83d`, "byte 8: half of a surrogate pair"},
		{`"\ud83d\`, "byte 8: half of a surrogate pair"},
		{`"\ud83d\u`, "byte 9: escape without an end"},
		{`"\ud83d\ude00`, "byte 14: text without an end"},
	} {
		data := slices.Clip([]byte(c.text))
		if v, err := readJSON(data); err == nil || err.Error() != c.says {
			t.Errorf("%s: got %v, %v; want %q", c.text, v, err, c.says)
		}
	}
}

func trees(depth int) *rapid.Generator[any] {
	leaves := []*rapid.Generator[any]{
		rapid.Just[any](nil),
		rapid.Bool().AsAny(),
		rapid.String().AsAny(),
		rapid.Int64Range(-MaxInteger, MaxInteger).AsAny(),
	}
	if depth == 0 {
		return rapid.OneOf(leaves...)
	}
	below := trees(depth - 1)
	return rapid.OneOf(append(leaves,
		rapid.SliceOfN(below, 0, 4).AsAny(),
		rapid.MapOfN(rapid.String(), below, 0, 4).AsAny())...)
}

// The canonical form says what encoding/json reads from it, is its own
// canonical form, and has no white space outside text.
func TestCanonicalKeepsTheValue(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		tree := trees(3).Draw(t, "tree")
		got, err := Canonical(tree)
		if err != nil {
			t.Fatal(err)
		}
		if again, err := Canonical(json.RawMessage(got)); err != nil || !bytes.Equal(got, again) {
			t.Fatalf("%s became %s, %v", got, again, err)
		}
		if diff := cmp.Diff(viaStandard(t, tree), decodeNumbers(t, got)); diff != "" {
			t.Fatal(diff)
		}
	})
}

func viaStandard(t interface{ Fatal(...any) }, v any) any {
	data, err := json.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return decodeNumbers(t, data)
}

func decodeNumbers(t interface{ Fatal(...any) }, data []byte) any {
	d := json.NewDecoder(bytes.NewReader(data))
	d.UseNumber()
	var v any
	if err := d.Decode(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

// Whatever the reader accepts is JSON, and means the same to encoding/json.
func FuzzCanonical(f *testing.F) {
	for _, seed := range []string{
		`{"a":[1,-0,true,null],"\ud83d\ude00":"\u2028"}`, `"\ud800"`, "\"\xff\"", `[01]`, `{"a":1,"a":2}`, ` [ ] `, `1e3`, `"\/\b"`, `tru`, `-`,
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		tree, err := readJSON(data)
		if err != nil {
			return
		}
		if !json.Valid(data) {
			t.Fatalf("%q is read, but is not JSON", data)
		}
		got := appendTree(nil, tree)
		if again, err := Canonical(json.RawMessage(got)); err != nil || !bytes.Equal(again, got) {
			t.Fatalf("%q became %q, %v", got, again, err)
		}
		if bytes.Contains(data, []byte("-0")) {
			return // encoding/json keeps the sign of zero
		}
		if diff := cmp.Diff(decodeNumbers(t, data), decodeNumbers(t, got)); diff != "" {
			t.Fatal(diff)
		}
	})
}
