package strict

import (
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
)

// complaints gives everything Parse and the shapes of a document are refused
// for, a line each; none where it is accepted.
func complaints(text string) []string {
	doc, err := Parse("f", []byte(text))
	if err == nil {
		err = doc.Err()
	}
	return split(err)
}

func split(err error) []string {
	if err == nil {
		return nil
	}
	return strings.Split(err.Error(), "\n")
}

func TestWhatNoDocumentMayHaveIsRefusedAtItsPlace(t *testing.T) {
	tests := []struct {
		name, text string
		want       []string
	}{
		{"nothing", "", []string{"f: the file is empty"}},
		{"only a comment", "# hello\n", []string{"f: the file is empty"}},
		{"only the start of a document", "--- \n", []string{"f: the file is empty"}},
		{"a byte order mark alone", "\ufeff", []string{"f: the file is empty"}},

		{"an anchor", "a: 1\nb: &x 2\n", []string{"f:2:4: b: anchors (&x) are not accepted: write the value out"}},
		{"an anchor and its alias", "a: &x 1\nb:\n  - *x\n", []string{
			"f:1:4: a: anchors (&x) are not accepted: write the value out",
			"f:3:5: b.0: aliases (*x) are not accepted: write the value out",
		}},
		{"an anchor on a key", "&x a: 1\n", []string{"f:1:1: anchors (&x) are not accepted: write the value out"}},
		{"an alias as a key", "a: &x b\n*x : 1\n", []string{
			"f:1:4: a: anchors (&x) are not accepted: write the value out",
			"f:2:1: a key is a plain word",
		}},
		{"an alias of nothing", "a: *x\n", []string{"f:1:4: this is not YAML: unknown anchor 'x' referenced"}},
		{"a tag of YAML", "a: !!int 1\n", []string{"f:1:4: a: tags (!!int) are not accepted"}},
		{"a tag of its own", "a:\n  - !engine {b: 1}\n", []string{"f:2:5: a.0: tags (!engine) are not accepted"}},
		{"a tag on a key", "!!str a: 1\n", []string{"f:1:1: tags (!!str) are not accepted"}},
		{"a merge key", "a: {<<: {b: 1}}\n", []string{"f:1:5: a: a key is a plain word"}},
		{"a list as a key", "{[a, b]: 1}\n", []string{"f:1:2: a key is a plain word"}},
		{"a mapping as a key", "? {a: 1}\n: 2\n", []string{"f:1:3: a key is a plain word"}},

		{"a key twice", "a: 1\nb: 2\na: 3\n", []string{"f:3:1: a: given twice, first on line 1"}},
		{"a key three times", "a: 1\na: 2\na: 3\n", []string{
			"f:2:1: a: given twice, first on line 1", "f:3:1: a: given twice, first on line 1",
		}},
		{"a key twice further in, columns in letters", "ü: {ö: 1, ö: 2}\n", []string{"f:1:11: ü.ö: given twice, first on line 1"}},
		{"a key twice after a byte order mark", "\ufeffa: 1\na: 2\n", []string{"f:2:1: a: given twice, first on line 1"}},
		{"a key twice, lines ended as on another system", "a: 1\r\nb: 2\r\na: 3\r\n", []string{"f:3:1: a: given twice, first on line 1"}},
		{"a key twice in a list", "l:\n  - {a: 1}\n  - {a: 1, a: 2}\n", []string{"f:3:12: l.1.a: given twice, first on line 3"}},

		{"two documents", "a: 1\n---\nb: 2\n", []string{"f:2:1: a second document begins here; one to a file is accepted"}},
		{"two documents, each marked", "---\na: 1\n...\n---\nb: 2\n", []string{"f:4:1: a second document begins here; one to a file is accepted"}},
		{"a second document that is broken", "a: 1\n---\nb: [\n", []string{"f:4:1: this is not YAML: did not find expected node content"}},
		{"another version of YAML", "%YAML 3.0\n---\na: 1\n", []string{"f:1:1: this is not YAML: found incompatible YAML document"}},

		{"a mapping that is not closed", "a: {b: 1\n", []string{"f:2:1: this is not YAML: did not find expected ',' or '}'"}},
		{"a list that is not closed", "a: 1\r\nb: [\r\n", []string{"f:3:1: this is not YAML: did not find expected node content"}},
		{"a tab for the indent", "a:\n\tb: 1\n", []string{"f:2:1: this is not YAML: found character that cannot start any token"}},
		{"an indent where none can be", "a: 1\n b: 2\n", []string{"f:2:3: this is not YAML: mapping values are not allowed in this context"}},
		{"a quote that is not closed", "a: \"x\nb: 2\n", []string{"f:3:1: this is not YAML: found unexpected end of stream"}},
		{"half a surrogate pair", "a: \"\\ud800\"\n", []string{"f:1:7: this is not YAML: found invalid Unicode character escape code"}},

		{"a zero byte", "a: 1\nb: x\x00\n", []string{"f:2:5: control character U+0000"}},
		{"a bell", "a: 1\nb: ü\x07\n", []string{"f:2:5: control character U+0007"}},
		{"an escape", "a: \x1b[2J\n", []string{"f:1:4: control character U+001B"}},
		{"a delete", "a: \x7f\n", []string{"f:1:4: control character U+007F"}},
		{"a control sequence in one character", "a: \u009b2J\n", []string{"f:1:4: control character U+009B"}},
		{"a line end of its own", "a: x\u0085b: 1\n", []string{"f:1:5: control character U+0085"}},
		{"a line separator", "a: x\u2028b: 1\n", []string{"f:1:5: control character U+2028"}},
		{"a turn of the writing direction", "a: x\u202eb\n", []string{"f:1:5: control character U+202E"}},
		{"an isolate of the writing direction", "a: x\u2066b\n", []string{"f:1:5: control character U+2066"}},
		{"a byte order mark within", "a: 1\n\ufeffb: 2\n", []string{"f:2:1: control character U+FEFF"}},
		{"a return without a line feed", "a: 1\rb: 2\n", []string{"f:1:5: control character U+000D"}},
		{"an escape written as one", "a: \"x\\e[2J\"\n", []string{"f:1:4: a: control character U+001B"}},
		{"a zero byte written as an escape", "a: \"\\0\"\n", []string{"f:1:4: a: control character U+0000"}},
		{"a return written as an escape", "a: \"x\\ry\"\n", []string{"f:1:4: a: control character U+000D"}},
		{"an escape in a key", "\"a\\e\": 1\n", []string{"f:1:1: control character U+001B"}},

		{"bytes that are no text", "a: 1\nb: \xff\n", []string{"f:2:4: this is not UTF-8 text"}},
		{"sixteen-bit text", "\xff\xfea\x00", []string{"f:1:1: this is not UTF-8 text"}},
		{"a surrogate in bytes", "a: \xed\xa0\x80\n", []string{"f:1:4: this is not UTF-8 text"}},

		{"too deep a list", strings.Repeat("[", 33) + strings.Repeat("]", 33) + "\n", nil},
		{"a list deeper than that", strings.Repeat("[", 34) + strings.Repeat("]", 34) + "\n", []string{
			"f:1:34: " + strings.TrimSuffix(strings.Repeat("0.", 33), ".") + ": nested more than 32 deep",
		}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if diff := cmp.Diff(tt.want, complaints(tt.text)); diff != "" {
				t.Errorf("%q (-want +got):\n%s", tt.text, diff)
			}
		})
	}
}

func TestWhatReads(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"a mapping", "a: one\n", "one"},
		{"JSON", `{"a": "one"}`, "one"},
		{"a byte order mark first", "\ufeffa: one\n", "one"},
		{"lines ended as on another system", "# note\r\na: one\r\n", "one"},
		{"a marked start and end", "---\na: one\n...\n", "one"},
		{"no line feed at the end", "a: one", "one"},
		{"a number with a zero before it, as it stands", "a: 010\n", "010"},
		{"a part number, as it stands", "a: 0445110376\n", "0445110376"},
		{"a word that YAML takes for a truth", "a: off\n", "off"},
		{"a day, as it stands", "a: 2026-03-14\n", "2026-03-14"},
		{"a word for not a number, as it stands", "a: .nan\n", ".nan"},
		{"a hexadecimal number, as it stands", "a: 0x10\n", "0x10"},
		{"space around is cut", "a: '  one '\n", "one"},
		{"several lines", "a: |\n  one\n  two\n", "one\ntwo"},
		{"joiners of letters", "a: x\u200dy\n", "x\u200dy"},
		{"a space that does not break", "a: 8\u00a0mm\n", "8\u00a0mm"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			doc, err := Parse("f", []byte(tt.text))
			if err != nil {
				t.Fatal(err)
			}
			got := doc.Root().Map().Required("a").Text()
			if got != tt.want || doc.Err() != nil {
				t.Errorf("got %q, %v; want %q", got, doc.Err(), tt.want)
			}
		})
	}
}

func TestProblemKeepsItsLineForAnExcerpt(t *testing.T) {
	doc, err := Parse("f", []byte("\ufeffa: 1\r\nb: 2\r\n"))
	if err != nil {
		t.Fatal(err)
	}
	m := doc.Root().Map()
	m.Required("a").Problem("wrong")
	m.Close()
	want := Problems{
		{File: "f", Line: 1, Column: 4, Path: "a", Message: "wrong", Source: "a: 1"},
		{File: "f", Line: 2, Column: 1, Path: "b", Message: "this key is not known here", Source: "b: 2"},
	}
	if diff := cmp.Diff(error(want), doc.Err()); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	_, err = Parse("f", []byte("a: 1\r\n b: 2\r\n"))
	want = Problems{{File: "f", Line: 2, Column: 3, Message: "this is not YAML: mapping values are not allowed in this context", Source: " b: 2"}}
	if diff := cmp.Diff(error(want), err); diff != "" {
		t.Errorf("syntax error (-want +got):\n%s", diff)
	}
}

func TestTooLargeAFileIsRefusedUnread(t *testing.T) {
	tests := []struct {
		name string
		size int
		want []string
	}{
		{"just the most", MaxSize, nil},
		{"a byte more", MaxSize + 1, []string{"f: the file has 1048577 bytes, more than the 1048576 a hand-written file may have"}},
		{"ten megabytes", 10 << 20, []string{"f: the file has 10485760 bytes, more than the 1048576 a hand-written file may have"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := "a: 1\n#" + strings.Repeat("x", tt.size-6)
			if diff := cmp.Diff(tt.want, complaints(text)); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

// The files below are as large as may be and made to keep a reader busy. They
// were read in 3 s at the most while two other tests ran; the limit is far
// above, and far below what a reader takes that does not bound its work.
func TestLargeFilesReadInBoundedTime(t *testing.T) {
	fill := func(part string) string { return strings.Repeat(part, MaxSize/len(part)) }
	tests := []struct{ name, text string }{
		{"keys given twice", fill("a: 1\n")},
		{"open brackets", fill("[")},
		{"open braces", fill("{a: ")},
		{"items in items", fill("- ")},
		{"keys marked", fill("? ")},
		{"empty lists", "[" + fill("[],")[:MaxSize-3] + "]"},
		{"anchors", fill("- &a x\n")},
		{"comments", fill("# x\n")},
		{"one long text", "a: \"" + fill("b ")[:MaxSize-6] + "\""},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			begun := time.Now()
			got := complaints(tt.text)
			if took := time.Since(begun); took > 20*time.Second {
				t.Errorf("took %v", took)
			}
			if len(got) > MaxProblems+1 {
				t.Errorf("%d problems are listed", len(got))
			}
		})
	}
}

func TestProblemsBeyondTheMostAreCounted(t *testing.T) {
	got := complaints(strings.Repeat("a: 1\n", 1000))
	if len(got) != MaxProblems+1 {
		t.Fatalf("%d problems are listed", len(got))
	}
	if last := got[MaxProblems]; last != "f: 799 more problems are not listed" {
		t.Errorf("the last is %q", last)
	}
}

// A document is written and read at the same time.
func TestBytesBesideReading(t *testing.T) {
	doc, err := Parse("a.yaml", []byte("b: {c: 1, d: [2, three]} # e\n"))
	if err != nil {
		t.Fatal(err)
	}
	want, err := doc.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	var both sync.WaitGroup
	for range 4 {
		both.Go(func() {
			for range 20 {
				if got, err := doc.Bytes(); err != nil || string(got) != string(want) {
					t.Errorf("%v\n%s", err, got)
				}
				doc.Copy()
			}
		})
	}
	both.Wait()
}
