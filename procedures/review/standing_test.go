package review

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/ed25519"
	"crypto/elliptic"
	"crypto/rand"
	"crypto/rsa"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/hiddeco/sshsig"
	"golang.org/x/crypto/ssh"

	"daytank/procedures/record"
)

// walked is a record of a walk that is ready for review.
func walked(t *testing.T) []record.Event {
	t.Helper()
	f, err := os.Open("../../testdata/records/van.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	x, err := record.ReadExport(f)
	if err != nil {
		t.Fatal(err)
	}
	return x.Events
}

func ed25519Key(t *testing.T) ssh.Signer {
	t.Helper()
	_, private, err := ed25519.GenerateKey(rand.Reader)
	return signerOf(t, private, err)
}

func signerOf(t *testing.T, private any, err error) ssh.Signer {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
	s, err := ssh.NewSignerFromKey(private)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// listOf makes a list of signers of lines in which KEY stands for the key.
func listOf(t *testing.T, key ssh.Signer, lines ...string) *Signers {
	t.Helper()
	public := strings.TrimSpace(string(ssh.MarshalAuthorizedKey(key.PublicKey())))
	text := strings.ReplaceAll(strings.Join(lines, "\n"), "KEY", public)
	s, err := ParseSigners("signers", []byte(text), time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	return &s
}

const inesMay = `"Ines Holm" namespaces="daytank-signoff" KEY`

// monday is after the walk.
var monday = time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)

// more seals events behind a record, in somebody's name.
func more(t *testing.T, events []record.Event, by string, bodies ...record.Body) []record.Event {
	t.Helper()
	added, _, err := record.Seal(events[len(events)-1].Head(), record.Stamp{At: monday, By: by}, bodies...)
	if err != nil {
		t.Fatal(err)
	}
	return append(events[:len(events):len(events)], added...)
}

// signed puts a sign-off behind a record. Change makes what is signed differ from what is
// stored.
func signed(t *testing.T, events []record.Event, key ssh.Signer, by, which string, change func(*record.SignOff)) []record.Event {
	t.Helper()
	last := events[len(events)-1]
	s := record.SignOff{Job: last.Job, Head: last.Hash, Seq: last.Seq, Which: which, Verdict: "fit", Principal: by, At: monday}
	if change != nil {
		change(&s)
	}
	armored, err := Sign(s, key)
	if err != nil {
		t.Fatal(err)
	}
	return more(t, events, by, record.Signed{Which: which, Verdict: "fit", Signature: armored})
}

func only(t *testing.T, events []record.Event, signers *Signers) Standing {
	t.Helper()
	all, err := Standings(events, signers)
	if err != nil || len(all) == 0 {
		t.Fatalf("%d standings, %v", len(all), err)
	}
	return all[0]
}

// A signature stands with each kind of key, and is refused with the reason when it is of
// another key, another job, head or words, out of its time, or the operator's own.
func TestStandings(t *testing.T) {
	events, key := walked(t), ed25519Key(t)
	rsaKey, err := rsa.GenerateKey(rand.Reader, 3072)
	rsaSigner := signerOf(t, rsaKey, err)
	ecKey, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
	ecSigner := signerOf(t, ecKey, err)
	work := record.SignOffWork
	for _, c := range []struct {
		name    string
		key     ssh.Signer
		by      string
		lines   []string
		change  func(*record.SignOff)
		problem string
	}{
		{"ed25519", key, "Ines Holm", []string{inesMay}, nil, ""},
		{"RSA", rsaSigner, "Ines Holm", []string{inesMay}, nil, ""},
		{"ECDSA", ecSigner, "Ines Holm", []string{inesMay}, nil, ""},
		{"any namespace", key, "Ines Holm", []string{`"Ines Holm" KEY`}, nil, ""},
		{"within its time", key, "Ines Holm", []string{`"Ines Holm" valid-after="20260101Z",valid-before="20270101Z" KEY`}, nil, ""},
		{"a pattern", key, "Ines Holm", []string{`"Ines *" KEY`}, nil, ""},
		{"unknown", key, "Ines Holm", []string{"bosun KEY"}, nil, "Ines Holm is not in the list of signers"},
		{"kept out", key, "Ines Holm", []string{`"!Ines Holm,*" KEY`}, nil, "is not in the list"},
		{"expired", key, "Ines Holm", []string{`"Ines Holm" valid-before="20260601Z" KEY`}, nil, "no longer valid: it was until 2026-06-01 00:00:00 UTC"},
		{"not yet valid", key, "Ines Holm", []string{`"Ines Holm" valid-after="202606010801Z" KEY`}, nil, "not valid yet: it is from 2026-06-01 08:01:00 UTC"},
		{"for something else", key, "Ines Holm", []string{`"Ines Holm" namespaces="file,git" KEY`}, nil, "may not sign off jobs"},
		{"of another job", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.Job[0]++ }, "of something else"},
		{"of another head", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.Head[0]++ }, "of something else"},
		{"of other words", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.Verdict = "not fit" }, "of something else"},
		{"of the result", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.Which = record.SignOffResult }, "of something else"},
		{"of another time", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.At = s.At.Add(time.Second) }, "of something else"},
		{"with nothing due", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.NothingDue = true }, "of something else"},
		{"of another name", key, "Ines Holm", []string{inesMay}, func(s *record.SignOff) { s.Principal = "Mara Quill" }, "of something else"},
		{"the operator's own", key, "Tobi Fenn", []string{`"Tobi Fenn" KEY`}, nil, "Tobi Fenn did work of this job"},
		{"the operator's own, in capitals", key, "TOBI FENN", []string{`"TOBI FENN" KEY`}, nil, "did work of this job"},
	} {
		t.Run(c.name, func(t *testing.T) {
			all := signed(t, events, c.key, c.by, work, c.change)
			got := only(t, all, listOf(t, c.key, c.lines...))
			if c.problem == "" && !got.Valid() || c.problem != "" && !strings.Contains(got.Problem, c.problem) {
				t.Errorf("problem %q, want %q", got.Problem, c.problem)
			}
			if got.Key != ssh.FingerprintSHA256(c.key.PublicKey()) || got.SignOff.Principal != c.by {
				t.Errorf("key %s of %s", got.Key, got.SignOff.Principal)
			}
		})
	}
	other := ed25519Key(t)
	if got := only(t, signed(t, events, other, "Ines Holm", work, nil), listOf(t, key, inesMay)); !strings.Contains(got.Problem, "another key") {
		t.Errorf("with another key: %q", got.Problem)
	}
	if got := only(t, signed(t, events, key, "Ines Holm", work, nil), nil); got.Problem != ErrNoSigners.Error() {
		t.Errorf("without a list: %q", got.Problem)
	}
	bare := more(t, events, "Ines Holm", record.Signed{Which: work, Verdict: "fit"})
	if got := only(t, bare, listOf(t, key, inesMay)); got.Problem != "it has no signature" {
		t.Errorf("without a signature: %q", got.Problem)
	}
	last := events[len(events)-1]
	text, err := record.SignOff{Job: last.Job, Head: last.Hash, Seq: last.Seq, Which: work, Verdict: "fit", Principal: "Ines Holm", At: monday}.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	elsewhere, err := sshsig.Sign(bytes.NewReader(text), key, sshsig.HashSHA512, "git")
	if err != nil {
		t.Fatal(err)
	}
	foreign := more(t, events, "Ines Holm", record.Signed{Which: work, Verdict: "fit", Signature: string(sshsig.Armor(elsewhere))})
	if got := only(t, foreign, listOf(t, key, inesMay)); !strings.Contains(got.Problem, `is for "git"`) {
		t.Errorf("in another namespace: %q", got.Problem)
	}
}

// Whoever has the database can seal another record of the same job; the sign-off then is
// of something else, even where it is copied over.
func TestRewrittenRecordIsCaught(t *testing.T) {
	events, key := walked(t), ed25519Key(t)
	list := listOf(t, key, inesMay)
	all := signed(t, events, key, "Ines Holm", record.SignOffWork, nil)
	head := record.Genesis(events[0].Job)
	var other []record.Event
	for _, e := range all {
		body, err := e.Decode()
		if err != nil {
			t.Fatal(err)
		}
		if s, is := body.(record.StepSkipped); is { // nobody skipped anything, it now says
			body = record.StepDone{Step: s.Step}
		}
		again, next, err := record.Seal(head, record.Stamp{At: e.At, MonoMS: e.MonoMS, Run: e.Run, By: e.By}, body)
		if err != nil {
			t.Fatal(err)
		}
		other, head = append(other, again...), next
	}
	if err := record.Verify(events[0].Job, other, nil); err != nil {
		t.Fatalf("the rewritten chain is to be sound by itself: %v", err)
	}
	if got := only(t, other, list); !strings.Contains(got.Problem, "of something else") {
		t.Errorf("%q", got.Problem)
	}
	if got := only(t, all, list); !got.Valid() {
		t.Errorf("the true one: %q", got.Problem)
	}
}

// What changes a step voids a sign-off, visibly; what is only added does not.
func TestAfterASignOff(t *testing.T) {
	events, key := walked(t), ed25519Key(t)
	list := listOf(t, key, inesMay)
	base := signed(t, events, key, "Ines Holm", record.SignOffWork, nil)
	for _, c := range []struct {
		body record.Body
		void bool
	}{
		{record.TestAdded{Phase: "after", State: "hot", Readings: []record.TestReading{}}, false},
		{record.Note{Text: "drove it for half an hour"}, false},
		{record.Explained{Text: "the phone was flat"}, false},
		{record.Transferred{From: "bay 1", To: "office"}, false},
		{record.Amended{Seq: 31, Text: "4", Reason: "misread"}, true},
		{record.StepReopened{Step: "leak-check", Reason: "went back"}, true},
		{record.Corrected{Seq: 31, Text: "4", Reason: "misread"}, true},
		{record.Recalled{Told: "the harbour master", Reason: "weeping"}, true},
		{record.SentBack{Which: record.SignOffWork, Remarks: []record.Remark{{Text: "a photo"}}}, true},
		{record.SentBack{Which: record.SignOffResult, Remarks: []record.Remark{{Text: "a second test"}}}, false},
		{record.Emergency{}, true},
	} {
		got := only(t, more(t, base, "Tobi Fenn", c.body), list)
		if c.void != (got.VoidBy == base[len(base)-1].Seq+1) || c.void == got.Valid() {
			t.Errorf("%s: void by %d, valid %t", c.body.Kind(), got.VoidBy, got.Valid())
		}
		if c.void && !strings.Contains(got.Words(), "VOID: event") {
			t.Errorf("%s: %s", c.body.Kind(), got.Words())
		}
	}
	both := signed(t, more(t, base, "Tobi Fenn", record.TestAdded{Phase: "after", State: "hot", Readings: []record.TestReading{}}), key, "Ines Holm", record.SignOffResult, nil)
	all, err := Standings(both, list)
	if err != nil || len(all) != 2 || !all[0].Valid() || !all[1].Valid() {
		t.Errorf("work and result: %+v, %v", all, err)
	}
	if due := Due(record.StateToReview, all[:1]); due != record.SignOffResult {
		t.Errorf("after the work %q is due", due)
	}
	if due := Due(record.StateToReview, nil); due != record.SignOffWork {
		t.Errorf("at first %q is due", due)
	}
}

// A signer who also released hold points is shown so.
func TestSignerWhoReleased(t *testing.T) {
	events, key := walked(t), ed25519Key(t)
	got := only(t, signed(t, events, key, "Mara Quill", record.SignOffWork, nil), listOf(t, key, `"Mara Quill" KEY`))
	if diff := cmp.Diff([]string{"rig-tight", "parts-counted"}, got.Released); diff != "" || !got.Valid() {
		t.Errorf("%s (-want +got)\n%s", got.Problem, diff)
	}
	if !strings.Contains(got.Words(), "the signer also released rig-tight, parts-counted") {
		t.Errorf("%s", got.Words())
	}
}

// The bytes that are signed are fixed: a signature of today is checked in ten years.
func TestSignedBytes(t *testing.T) {
	last := walked(t)[0]
	text, err := record.SignOff{Job: last.Job, Head: record.Hash{1}, Seq: 7, Which: "work", Verdict: "fit \"x\"", Remarks: "ä", Principal: "Ines Holm", At: monday}.Bytes()
	want := fmt.Sprintf(`{"at":"2026-06-01T08:00:00.000Z","head":"%s","job":"%s","nothing_due":false,"principal":"Ines Holm","remarks":"ä","seq":7,"signoff":1,"verdict":"fit \"x\"","which":"work"}`, record.Hash{1}, last.Job)
	if err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}

func TestSignersThatDoNotRead(t *testing.T) {
	key := strings.TrimSpace(string(ssh.MarshalAuthorizedKey(ed25519Key(t).PublicKey())))
	for line, reason := range map[string]string{
		"ines":                            "s:2: a line is: principals, options, key type and key",
		"ines KEY KEY":                    "",
		"ines ssh-ed25519 AAAA":           "s:2: no key that reads",
		`ines cert-authority KEY`:         "s:2: cert-authority trusts",
		`ines valid-after="soon" KEY`:     `s:2: "soon" is no moment`,
		`ines valid-after="20260231" KEY`: `s:2: "20260231" is no moment`,
		`ines valid-after="2027",valid-before="2026" KEY`:         `s:2: "2027" is no moment`,
		`ines valid-after="20270101",valid-before="20260101" KEY`: "s:2: valid-before is not after valid-after",
		`ines no-touch-required KEY`:                              `s:2: option "no-touch-required" is not known`,
		`"ines KEY`:                                               "s:2: a line is",
	} {
		_, err := ParseSigners("s", []byte("# the shop\n"+strings.ReplaceAll(line, "KEY", key)+"\n\n"), time.UTC)
		if reason == "" {
			if err != nil {
				t.Errorf("%s: %v", line, err)
			}
			continue
		}
		if err == nil || !strings.Contains(err.Error(), reason) {
			t.Errorf("%s: %v, want %s", line, err, reason)
		}
	}
}

// Moments without a Z are in the zone of the place, as ssh-keygen(1) has them.
func TestMomentsOfTheList(t *testing.T) {
	east := time.FixedZone("east", 2*3600)
	for text, want := range map[string]string{
		"20260601": "2026-05-31T22:00:00Z", "20260601Z": "2026-06-01T00:00:00Z",
		"202606010930": "2026-06-01T07:30:00Z", "20260601093015Z": "2026-06-01T09:30:15Z",
	} {
		got, err := moment(text, east)
		if err != nil || got.UTC().Format(time.RFC3339) != want {
			t.Errorf("%s: %v, %v, want %s", text, got, err, want)
		}
	}
}

func FuzzParseSigners(f *testing.F) {
	f.Add([]byte("ines namespaces=\"a\" ssh-ed25519 AAAAC3NzaC1lZDI1NTE5AAAAILyYUk0RRrRNaZbDdxsbqQ6+PyiU1JmhXGGdUtqR7fEZ c\n"))
	f.Add([]byte("\"a b\" valid-after=\"20260101Z\" ssh-ed25519 AAAA\n*,!x"))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := ParseSigners("s", text, time.UTC)
		for _, one := range s.All {
			if one.Key == nil || one.Principals == "" {
				t.Errorf("%+v of a line that was taken, %v", one, err)
			}
		}
	})
}

// A sign-off that is dated before what it follows, one by somebody who corrected an entry,
// and one with a key that anybody can break.
func TestStandingsOfCheats(t *testing.T) {
	events, key := walked(t), ed25519Key(t)
	list := listOf(t, key, inesMay)
	last := events[len(events)-1]
	early := last.At.Add(-24 * time.Hour)
	s := record.SignOff{Job: last.Job, Head: last.Hash, Seq: last.Seq, Which: record.SignOffWork, Verdict: "fit", Principal: "Ines Holm", At: early}
	armored, err := Sign(s, key)
	if err != nil {
		t.Fatal(err)
	}
	added, _, err := record.Seal(last.Head(), record.Stamp{At: early, By: "Ines Holm"}, record.Signed{Which: s.Which, Verdict: s.Verdict, Signature: armored})
	if err != nil {
		t.Fatal(err)
	}
	if got := only(t, append(events[:len(events):len(events)], added...), list); !strings.Contains(got.Problem, "before the entry that it follows") {
		t.Errorf("dated back: %q", got.Problem)
	}
	for _, body := range []record.Body{record.Corrected{Seq: 31, Text: "25", Reason: "looked it up"}, record.Deviation{Text: "by hand"}, record.Amended{Seq: 31, Text: "25", Reason: "looked it up"}} {
		if got := only(t, signed(t, more(t, events, "ines  holm", body), key, "Ines Holm", record.SignOffWork, nil), list); !strings.Contains(got.Problem, "did work of this job") {
			t.Errorf("by whoever wrote %s: %q", body.Kind(), got.Problem)
		}
	}
	weak, err := rsa.GenerateKey(rand.Reader, 1024)
	if err != nil {
		t.Fatal(err)
	}
	short := signerOf(t, weak, nil)
	if got := only(t, signed(t, events, short, "Ines Holm", record.SignOffWork, nil), listOf(t, short, inesMay)); !strings.Contains(got.Problem, "too short: 1024 bits") {
		t.Errorf("a short key: %q", got.Problem)
	}
}
