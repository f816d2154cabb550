package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"os"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"pgregory.net/rapid"
)

var (
	jobVan  = uuid.MustParse("018f3a5c-7d20-7000-8000-0000000000a7")
	jobBoat = uuid.MustParse("018f3a5c-7d20-7000-8000-00000000b0a7")
	runOne  = uuid.MustParse("018f3a5c-8000-7000-8000-000000000001")
)

func stamp() Stamp {
	return Stamp{At: time.Date(2026, 3, 14, 9, 26, 53, 589_793_238, time.UTC), MonoMS: 1250, Run: runOne, By: "Tobi Fenn"}
}

var blobsVan = []Blob{Blob("job"), Blob("plan"), Blob("assessment"), Blob("checklist"), Blob("picture")}

func createdVan() Created {
	return Created{
		Asset: "VAN-07", Number: 3, Title: "VAN-07 concentrate clean", Procedure: "rail-pumped", Layout: "rail-pumped", Program: "0.1.0",
		Job: blobsVan[0].Digest(), Plan: blobsVan[1].Digest(), Assessment: blobsVan[2].Digest(), Checklist: blobsVan[3].Digest(),
	}
}

func mustSeal(t testing.TB, head Head, bodies ...Body) []Event {
	t.Helper()
	events, _, err := Seal(head, stamp(), bodies...)
	if err != nil {
		t.Fatal(err)
	}
	return events
}

func sampleChain(t testing.TB) []Event {
	level := int64(3_400_000)
	return mustSeal(t, Genesis(jobVan),
		createdVan(),
		StepStarted{Step: "pump-dead"},
		Cleared{Step: "pump-dead", Answer: "F17", Until: "pump-back"},
		Reading{Step: "engine-run", Stage: 1, RunMS: 120_000, Level: "3.40", LevelUnit: "L", LevelUL: &level},
		Photo{Step: "photographed", File: "lines.jpg", Blob: blobsVan[4].Digest()},
		Note{Text: "Mara: »hose B re-tightened«\u2028ok"},
	)
}

// The file holds the sample chain as it was first written: the format does not
// change under it.
func TestLinesAreAsEverWritten(t *testing.T) {
	want, err := os.ReadFile("testdata/sample.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	var got []byte
	for _, e := range sampleChain(t) {
		got = append(append(got, e.Line()...), '\n')
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Error(diff)
	}
}

// The hash is that of the line with its member hash cut out of the text.
func TestHashIsOfTheLineWithoutIt(t *testing.T) {
	member := regexp.MustCompile(`"hash":"([0-9a-f]{64})",`)
	prev := sha256.Sum256([]byte("018f3a5c-7d20-7000-8000-0000000000a7"))
	for _, e := range sampleChain(t) {
		line := e.Line()
		sum := sha256.Sum256(member.ReplaceAll(line, nil))
		if got := member.FindSubmatch(line); got == nil || string(got[1]) != hex.EncodeToString(sum[:]) {
			t.Errorf("event %d: hash is not %x in %s", e.Seq, sum, line)
		}
		if e.Prev != Hash(prev) {
			t.Errorf("event %d: prev is %s, want %x", e.Seq, e.Prev, prev)
		}
		prev = sum
	}
}

func TestLineReadsBack(t *testing.T) {
	for _, e := range sampleChain(t) {
		got, err := ParseLine(e.Line())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(e, got); diff != "" {
			t.Error(diff)
		}
	}
}

// Every line that can be sealed reads back as the same event.
func TestAnySealedLineReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Stamp{
			At:     time.UnixMilli(rapid.Int64Range(1, 253402300799999).Draw(t, "at")),
			MonoMS: rapid.Int64Range(0, MaxInteger).Draw(t, "mono"),
			Run:    uuid.UUID(rapid.SliceOfN(rapid.Byte(), 16, 16).Draw(t, "run")),
			By:     rapid.StringN(1, 40, 200).Draw(t, "by"),
		}
		head := Head{Job: jobVan, Seq: rapid.Int64Range(1, MaxInteger-1).Draw(t, "seq"), Hash: Hash{1}}
		events, _, err := Seal(head, s, Note{Step: rapid.String().Draw(t, "step"), Text: rapid.String().Draw(t, "text")})
		if err != nil {
			t.Fatal(err)
		}
		got, err := ParseLine(events[0].Line())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(events[0], got); diff != "" {
			t.Fatal(diff)
		}
	})
}

func exportedLine(t testing.TB) []byte {
	return mustSeal(t, sampleChain(t)[0].Head(), Note{Text: "ü \" \u2028", Step: "air-out"})[0].Line()
}

func TestEverySingleByteChangeIsRefused(t *testing.T) {
	line := exportedLine(t)
	damaged := bytes.Clone(line)
	for i := range line {
		for c := range 256 {
			if damaged[i] = byte(c); damaged[i] == line[i] {
				continue
			}
			if _, err := ParseLine(damaged); err == nil {
				t.Fatalf("byte %d changed from %q to %q is accepted: %s", i+1, line[i], damaged[i], damaged)
			}
		}
		damaged[i] = line[i]
	}
}

func TestEveryTruncationAndShiftIsRefused(t *testing.T) {
	line := exportedLine(t)
	refused := func(what string, i int, damaged []byte) {
		if _, err := ParseLine(damaged); err == nil {
			t.Errorf("%s %d is accepted: %s", what, i, damaged)
		}
	}
	for i := range line {
		refused("truncation to", i, line[:i])
		refused("end from", i+1, line[i+1:])
		refused("deletion of byte", i+1, append(bytes.Clone(line[:i]), line[i+1:]...))
		for _, c := range []byte(" \t\n\r\x000,\"}") {
			damaged := append(append(bytes.Clone(line[:i]), c), line[i:]...)
			if !bytes.Equal(damaged, line) {
				refused("insertion before byte", i+1, damaged)
			}
		}
	}
	for _, tail := range []string{"\n", " ", "{}", "\x00", string(line)} {
		refused("tail of length", len(tail), append(bytes.Clone(line), tail...))
	}
}

// rehash gives the line with the hash that its other bytes ask for, so that
// nothing but the form of the line can be the reason for refusing it.
func rehash(line string) string {
	member := regexp.MustCompile(`"hash":"[^"]*",`)
	sum := sha256.Sum256([]byte(member.ReplaceAllString(line, "")))
	return member.ReplaceAllString(line, `"hash":"`+hex.EncodeToString(sum[:])+`",`)
}

func TestFormIsRefusedEvenWithARightHash(t *testing.T) {
	line := string(exportedLine(t))
	if _, err := ParseLine([]byte(rehash(line))); err != nil {
		t.Fatalf("the whole line is refused: %v", err)
	}
	for _, c := range []struct{ name, old, with, says string }{
		{"key twice", `"seq":2`, `"seq":2,"seq":2`, "given twice"},
		{"key in upper case", `"seq":2`, `"Seq":2`, `key "Seq"`},
		{"key of the body in upper case", `"step"`, `"Step"`, `key "Step"`},
		{"key that folds to another", `"seq":2`, `"ſeq":2`, "key"},
		{"keys in another order", `"step":"air-out","text":"ü \" ` + "\u2028" + `"`, `"text":"ü \" ` + "\u2028" + `","step":"air-out"`, "canonical form"},
		{"white space", `"seq":2`, `"seq": 2`, "canonical form"},
		{"needless escape", "ü", `\u00fc`, "canonical form"},
		{"U+2028 escaped", "\u2028", `\u2028`, "canonical form"},
		{"slash escaped", "air-out", `air\/out`, "canonical form"},
		{"fraction", `"seq":2`, `"seq":2.0`, "not an integer"},
		{"exponent", `"seq":2`, `"seq":2e0`, "not an integer"},
		{"leading zero", `"seq":2`, `"seq":02`, "leading zero"},
		{"leading zero before a zero", `"seq":2`, `"seq":00`, "leading zero"},
		{"leading zero before a nine", `"seq":2`, `"seq":09`, "leading zero"},
		{"minus alone", `"mono_ms":1250`, `"mono_ms":-`, "digit expected"},
		{"minus zero", `"mono_ms":1250`, `"mono_ms":-0`, "canonical form"},
		{"negative clock", `"mono_ms":1250`, `"mono_ms":-1`, "mono_ms is -1"},
		{"seq zero", `"seq":2`, `"seq":0`, "seq is 0"},
		{"beyond 2^53", `"mono_ms":1250`, `"mono_ms":9007199254740993`, "2^53"},
		{"not UTF-8", "ü", "\xfc", "not UTF-8"},
		{"control character", "ü", "\x01", "control character"},
		{"eleventh member", `"seq":2`, `"seq":2,"sig":"x"`, "canonical form"},
		{"member missing", `"mono_ms":1250,`, ``, "mono_ms is missing"},
		{"number as text", `"seq":2`, `"seq":"2"`, "seq is not an integer"},
		{"null", `"by":"Tobi Fenn"`, `"by":null`, "by is not text"},
		{"nobody", `"by":"Tobi Fenn"`, `"by":""`, "nobody is named"},
		{"body as list", `{"step":"air-out","text":"ü \" ` + "\u2028" + `"}`, `[]`, "body is not an object"},
		{"time in another zone", `09:26:53.589Z`, `10:26:53.589+01:00`, "at does not read"},
		{"time with a comma", `53.589Z`, `53,589Z`, "canonical form at byte 27"},
		{"time to the microsecond", `53.589Z`, `53.589000Z`, "at does not read"},
		{"time to the second", `53.589Z`, `53Z`, "at does not read"},
		{"a day that is not", `2026-03-14`, `2026-02-30`, "at does not read"},
		{"before 1970", `2026-03-14`, `1969-03-14`, "year 1969"},
		{"upper-case UUID", `a7","kind"`, `A7","kind"`, "canonical form"},
		{"UUID with braces", jobVan.String(), "{" + jobVan.String() + "}", "canonical form"},
		{"zero job", jobVan.String(), uuid.Nil.String(), "zero UUID"},
		{"kind in upper case", `"kind":"note"`, `"kind":"Note"`, "kind is"},
		{"kind with two spaces", `"kind":"note"`, `"kind":"step  done"`, "kind is"},
		{"no kind", `"kind":"note"`, `"kind":""`, "kind is"},
	} {
		damaged := strings.Replace(line, c.old, c.with, 1)
		if damaged == line {
			t.Errorf("%s: nothing was replaced", c.name)
		}
		_, err := ParseLine([]byte(rehash(damaged)))
		if err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: got %v, want an error with %q", c.name, err, c.says)
		}
	}
}

func TestHashInUpperCaseIsRefused(t *testing.T) {
	e := sampleChain(t)[0]
	damaged := bytes.Replace(e.Line(), []byte(e.Hash.String()), []byte(strings.ToUpper(e.Hash.String())), 1)
	if _, err := ParseLine(damaged); err == nil || !strings.Contains(err.Error(), "hexadecimal") {
		t.Errorf("got %v", err)
	}
}

func TestLineOverTheLimitIsRefused(t *testing.T) {
	if _, err := ParseLine(bytes.Repeat([]byte(" "), MaxLine+1)); err == nil || !strings.Contains(err.Error(), "1048577 bytes") {
		t.Errorf("got %v", err)
	}
}

func TestParseHash(t *testing.T) {
	h := Blob("abc").Digest()
	// FIPS 180-2, appendix B.1: SHA-256 of "abc".
	if want := "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"; h.String() != want {
		t.Errorf("got %s, want %s", h, want)
	}
	if got, err := ParseHash(h.String()); err != nil || got != h {
		t.Errorf("got %s, %v", got, err)
	}
	for _, bad := range []string{"", "ba", h.String() + "0", strings.ToUpper(h.String()), strings.Repeat("g", 64), " " + h.String()[1:]} {
		if _, err := ParseHash(bad); err == nil {
			t.Errorf("%q is accepted", bad)
		}
	}
	if _, err := ParseHash(h.String()[:63] + "g"); err == nil || !strings.Contains(err.Error(), "'g' at character 64") {
		t.Errorf("got %v", err)
	}
	if !(Hash{}).IsZero() || h.IsZero() {
		t.Error("IsZero is wrong")
	}
}

func TestUnknownKindIsKept(t *testing.T) {
	e := sampleChain(t)[1]
	e.Kind, e.Body = "towed away", json.RawMessage(`{"by_whom":"Ines Holm","km":12}`)
	e.Hash = e.digest()
	got, err := ParseLine(e.Line())
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(e, got); diff != "" {
		t.Error(diff)
	}
	if got.Kind.Known() || !KindNote.Known() {
		t.Error("Known is wrong")
	}
	if err := Verify(jobVan, []Event{sampleChain(t)[0], got}, nil); err != nil {
		t.Errorf("the chain with it does not verify: %v", err)
	}
}

// What is accepted is its own re-encoding.
func FuzzParseLine(f *testing.F) {
	for _, e := range sampleChain(f) {
		f.Add(e.Line())
	}
	f.Add([]byte(`{}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		// The hash refuses nearly every line, so each is tried with its own too.
		for _, line := range [][]byte{data, []byte(rehash(string(data)))} {
			e, err := ParseLine(line)
			if err != nil {
				continue
			}
			if !bytes.Equal(e.Line(), line) {
				t.Fatalf("%q is read, and written as %q", line, e.Line())
			}
			e.Blobs() // reads the body, whatever it holds
		}
	})
}

func BenchmarkParseLine(b *testing.B) {
	line := exportedLine(b)
	for b.Loop() {
		if _, err := ParseLine(line); err != nil {
			b.Fatal(err)
		}
	}
}
