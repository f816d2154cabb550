package strict

import "testing"

// FuzzParse holds that no text makes the reader fall over, that what is
// accepted can be written and read again with the same content, and that no
// control character comes through.
func FuzzParse(f *testing.F) {
	for _, text := range []string{
		"", "a: 1\n", "a: {b: [1, 2]}\n", "a: &x 1\nb: *x\n", "---\na: 1\n---\nb: 2\n", "\ufeffa: \"\\e\"\n",
		"a: |\n  one\n  two\n", "? a\n: b\n", "a: 'it''s'\r\n", "a: 1\na: 2\n", "[[[[", "a: !!str 1\n", "# c\na: x # d\n", "a: >-\n x\n\n y\n",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		doc, err := Parse("f", text)
		if err == nil {
			err = doc.Err()
		}
		if err != nil {
			if _, ok := err.(Problems); !ok || err.Error() == "" {
				t.Fatalf("%T %v", err, err)
			}
			return
		}
		out, err := doc.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		again, err := Parse("g", out)
		if err == nil {
			err = again.Err()
		}
		if err != nil {
			t.Fatalf("%q was written as %q: %v", text, out, err)
		}
		if was, is := flat(doc.Root(), ""), flat(again.Root(), ""); was != is {
			t.Fatalf("%q read as %q, again as %q", text, was, is)
		}
	})
}

// flat gives the content of a value in one text.
func flat(v Value, text string) string {
	switch {
	case v.IsText():
		return text + v.node.Value + "\x00"
	case v.IsList():
		text += "["
		for _, item := range v.List() {
			text = flat(item, text)
		}
		return text + "]"
	}
	m := v.Map()
	text += "{"
	for _, key := range m.Keys() {
		text = flat(m.Optional(key), text+key+"\x00")
	}
	return text + "}"
}
