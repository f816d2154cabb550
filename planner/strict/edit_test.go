package strict

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func parsed(t testing.TB, text string) *Document {
	t.Helper()
	doc, err := Parse("f", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

func written(t testing.TB, doc *Document) string {
	t.Helper()
	text, err := doc.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestSet(t *testing.T) {
	const text = "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 6 min\n"
	tests := []struct{ name, path, value, want string }{
		{"another value", "rig.charge", "2 L", "rig:\n  charge: 2 L\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 6 min\n"},
		{"a new key", "rig.taps", "true", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\n  taps: true\nrun:\n- soak: 5 min\n- soak: 6 min\n"},
		{"mappings on the way", "site.place.x", "a", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 6 min\nsite:\n  place:\n    x: a\n"},
		{"a key taken away", "rig.charge", "", "rig:\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 6 min\n"},
		{"a key that is not there taken away", "rig.taps", " ", text},
		{"a key taken away below one that is not there", "site.place", "", text},
		{"within an item", "run.1.soak", "7 min", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 7 min\n"},
		{"an item", "run.0", "{soak: 9 min}", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- {soak: 9 min}\n- soak: 6 min\n"},
		{"an item more", "run.2", "{soak: 9 min}", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- soak: 5 min\n- soak: 6 min\n- {soak: 9 min}\n"},
		{"an item taken away", "run.0", "", "rig:\n  charge: 1.8 L\n  lift: 0.4 m\nrun:\n- soak: 6 min\n"},
		{"a section", "rig", "{lift: 1 m}", "rig: {lift: 1 m}\nrun:\n- soak: 5 min\n- soak: 6 min\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doc := parsed(t, text)
			if err := doc.Set(tt.path, tt.value); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, written(t, doc)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

func TestSetRefuses(t *testing.T) {
	tests := []struct{ name, path, value, want string }{
		{"no path", "", "1", ": an empty key"},
		{"half a path", "rig.", "1", "rig.: an empty key"},
		{"below a single value", "rig.charge.x", "1", `rig.charge.x: nothing can be set below the single value "1.8 L"`},
		{"a word for a position", "run.first", "1", `run.first: "first" is not a position in a list of 1, counted from 0`},
		{"a position before the first", "run.-1", "1", `run.-1: "-1" is not a position in a list of 1, counted from 0`},
		{"a position after the next", "run.2", "1", `run.2: "2" is not a position in a list of 1, counted from 0`},
		{"within an item that is not there", "run.1.soak", "1", "run.1.soak: the list has no item 1"},
		{"a value that is not YAML", "rig.charge", "{", "rig.charge={: value:2:1: this is not YAML: did not find expected node content"},
		{"a value with an anchor", "rig.charge", "&x 1", "rig.charge=&x 1: value:1:1: anchors (&x) are not accepted: write the value out"},
		{"a value with a key twice", "rig", "{a: 1, a: 2}", "rig={a: 1, a: 2}: value:1:8: a: given twice, first on line 1"},
		{"a value with a control character", "rig.charge", "\x1b", "rig.charge=\x1b: value:1:1: control character U+001B"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doc := parsed(t, "rig: {charge: 1.8 L}\nrun: [{soak: 5 min}]\n")
			before := written(t, doc)
			err := doc.Set(tt.path, tt.value)
			if err == nil || err.Error() != tt.want {
				t.Errorf("got %v, want %s", err, tt.want)
			}
			if after := written(t, doc); after != before {
				t.Errorf("the document was changed to %q", after)
			}
		})
	}
}

func TestWhatIsSetHasNoPlaceInTheFile(t *testing.T) {
	doc := parsed(t, "a: 1\nb: {c: 2}\n")
	if err := doc.Set("b.c", "{d: 3}"); err != nil {
		t.Fatal(err)
	}
	doc.Root().Map().Optional("b").Map().Optional("c").Map().Close()
	want := []string{"f: b.c.d: this key is not known here"}
	if diff := cmp.Diff(want, split(doc.Err())); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

func TestSetTextKeepsAnyText(t *testing.T) {
	anything := rapid.OneOf(
		rapid.String(),
		rapid.StringMatching(`[-?:,\[\]{}#&*!|>'"%@~ a-c0-9\n\t.]{0,12}`),
		rapid.SampledFrom([]string{"null", "~", "true", "010", "0x10", "1e3", ".nan", "2026-03-14", "<<", "---", "...", "- a", "a: b", "a #b", "it's"}),
	)
	rapid.Check(t, func(t *rapid.T) {
		text := anything.Draw(t, "text")
		doc, err := Parse("f", []byte("a: 1\nl: [x, y]\n"))
		if err != nil {
			t.Fatal(err)
		}
		steers := strings.ContainsFunc(text, isControl)
		if err := doc.SetText("l.1", text); (err != nil) != steers {
			t.Fatalf("%q: %v", text, err)
		}
		if steers {
			return
		}
		out, err := doc.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse("g", out)
		if err != nil {
			t.Fatalf("%q: %v", out, err)
		}
		if err := again.Err(); err != nil {
			t.Fatalf("%q: %v", out, err)
		}
		items := again.Root().Map().Optional("l").List()
		if len(items) != 2 || !items[1].IsText() || items[1].node.Value != text {
			t.Fatalf("%q was written as %q", text, out)
		}
	})
}

func TestSetTextRefuses(t *testing.T) {
	doc := parsed(t, "a: 1\n")
	for text, want := range map[string]string{
		"x\x1b[2J": "a: control character U+001B",
		"x\x00":    "a: control character U+0000",
		"x\ry":     "a: control character U+000D",
		"x\u202e":  "a: control character U+202E",
		"x\xff":    "a: this is not UTF-8 text",
	} {
		if err := doc.SetText("a", text); err == nil || err.Error() != want {
			t.Errorf("%q: got %v, want %s", text, err, want)
		}
	}
	if err := doc.SetText("a.b", "x"); err == nil {
		t.Error("a text was set below a single value")
	}
	if got := written(t, doc); got != "a: 1\n" {
		t.Errorf("the document was changed to %q", got)
	}
}

func TestCopyIsIndependent(t *testing.T) {
	doc := parsed(t, "a: {b: 1, b: 2}\nl: [x]\n")
	doc.Root().Map().Optional("l").Problem("found while reading")
	c := doc.Copy()
	if err := c.Set("l.0", "y"); err != nil {
		t.Fatal(err)
	}
	if err := c.Set("a", ""); err != nil {
		t.Fatal(err)
	}
	if got := written(t, doc); got != "a: {b: 1, b: 2}\nl: [x]\n" {
		t.Errorf("the original was changed to %q", got)
	}
	if got := written(t, c); got != "l: [y]\n" {
		t.Errorf("the copy is %q", got)
	}
	want := []string{"f:1:11: a.b: given twice, first on line 1"}
	if diff := cmp.Diff(want, split(c.Err())); diff != "" {
		t.Errorf("problems of the copy (-want +got):\n%s", diff)
	}
}

func TestMergeAddsWhatIsLacking(t *testing.T) {
	from := parsed(t, "burn: {low: 1}\nidle: 800 rpm\nstroke: 92 mm\n")
	tests := []struct{ name, text, path, want string }{
		{"into a section", "engine: {profile: a, idle: 750 rpm}\n", "engine", "engine: {profile: a, idle: 750 rpm, burn: {low: 1}, stroke: 92 mm}\n"},
		{"into the whole", "stroke: 90 mm\n", "", "stroke: 90 mm\nburn: {low: 1}\nidle: 800 rpm\n"},
		{"a mapping that is there is not looked into", "burn: {high: 2}\n", "", "burn: {high: 2}\nidle: 800 rpm\nstroke: 92 mm\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doc := parsed(t, tt.text)
			if err := doc.Merge(tt.path, from); err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(tt.want, written(t, doc)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
	t.Run("refused", func(t *testing.T) {
		for path, text := range map[string]string{"engine": "a: 1\n", "a": "a: 1\n"} {
			if err := parsed(t, text).Merge(path, from); err == nil || err.Error() != path+": a mapping is wanted" {
				t.Errorf("%s: got %v", path, err)
			}
		}
		if err := parsed(t, "a: 1\n").Merge("", parsed(t, "[a]")); err == nil {
			t.Error("a list was merged")
		}
	})
	if got := written(t, from); got != "burn: {low: 1}\nidle: 800 rpm\nstroke: 92 mm\n" {
		t.Errorf("what was merged from became %q", got)
	}
}

func TestDocumentOfAValueIsItsOwn(t *testing.T) {
	doc := parsed(t, "engine:\n  idle: 800 rpm # measured\nrig: {}\n")
	part := doc.Root().Map().Optional("engine").Document()
	if err := part.Set("stroke", "92 mm"); err != nil {
		t.Fatal(err)
	}
	if got := written(t, part); got != "idle: 800 rpm # measured\nstroke: 92 mm\n" {
		t.Errorf("the part is %q", got)
	}
	if strings.Contains(written(t, doc), "stroke") {
		t.Error("the whole was changed with its part")
	}
	if got := written(t, doc.Root().Map().Optional("missing").Document()); got != "{}\n" {
		t.Errorf("the part that is missing is %q", got)
	}
}

func TestBytesKeepCommentsAndText(t *testing.T) {
	const text = "# the van\njob: 1 # version\nlamp: \"off\"\npart: 0445110376\nflash: 67 °C\nlist:\n# first\n- a\n"
	if diff := cmp.Diff(text, written(t, parsed(t, text))); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}
