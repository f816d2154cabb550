package record

import (
	"strings"
	"testing"
	"time"
)

// Every event weighs what it does with whoever reviews the job, and every rank has words of
// its own.
func TestRankOf(t *testing.T) {
	for _, row := range []struct {
		body Body
		want Rank
	}{
		{Created{Own: true}, RankOwn},
		{Created{}, RankNothing},
		{Transcribed{}, RankTranscribed},
		{Emergency{}, RankEmergency},
		{Recalled{}, RankEmergency},
		{Alarm{}, RankAlarm},
		{Alarm{Mild: true}, RankMild},
		{HoldReleased{By: "Tobi Fenn"}, RankAlone},
		{HoldReleased{By: "Mara Quill"}, RankNamed},
		{HoldReleased{By: "Mara Quill", Proved: true}, RankNothing},
		{StepSkipped{}, RankDeviation},
		{Deviation{}, RankDeviation},
		{Amended{}, RankDeviation},
		{StepReopened{Reason: ProvedAgain + ": a break of 40:00"}, RankAgain},
		{StepReopened{Reason: "went back"}, RankNothing},
		{Observation{What: NoProof + "twelve"}, RankAgain},
		{Observation{What: "smoke"}, RankNothing},
		{Corrected{}, RankAgain},
		{Clock{}, RankAgain},
		{Acknowledged{}, RankCaution},
		{Note{}, RankNothing},
	} {
		bodies := []Body{createdVan(), row.body}
		if row.body.Kind() == KindCreated {
			bodies = bodies[1:]
		}
		events := mustSeal(t, Genesis(jobVan), bodies...)
		e := events[len(events)-1]
		e.By = "Tobi Fenn"
		if got, err := RankOf(e); err != nil || got != row.want {
			t.Errorf("%+v has rank %d, want %d; %v", row.body, got, row.want, err)
		}
	}
	told := map[string]bool{}
	for r := RankNothing; r <= RankOwn; r++ {
		if told[r.Words()] {
			t.Errorf("rank %d has no words of its own", r)
		}
		told[r.Words()] = true
	}
	if (RankOwn+1).Words() != RankNothing.Words() || Rank(-1).Words() != RankNothing.Words() {
		t.Error("a rank that there is not has words")
	}
}

// A job weighs as much as the worst of it; points beyond 999 are not counted, and a caution
// is none.
func TestWeight(t *testing.T) {
	var w Weight
	for _, r := range []Rank{RankAlarm, RankCaution, RankMild} {
		w = w.with(r)
	}
	if w.Worst() != RankAlarm || w.Points() != 2 {
		t.Errorf("worst %d, %d points", w.Worst(), w.Points())
	}
	for range 2000 {
		w = w.with(RankMild)
	}
	if w.Worst() != RankAlarm || w.Points() != 999 {
		t.Errorf("worst %d, %d points", w.Worst(), w.Points())
	}
}

// What a sign-off signs is the record up to it, in one form: RFC 8785, worked out by hand.
func TestSignOffBytes(t *testing.T) {
	events := mustSeal(t, Genesis(jobVan), createdVan(), ReadyForReview{}, Signed{Which: SignOffWork, Verdict: "fit", Remarks: "Öl", NothingDue: true, Signature: "sig"})
	s, signature, err := SignOffOf(events[2])
	if err != nil || signature != "sig" {
		t.Fatalf("%q, %v", signature, err)
	}
	s.At = time.Date(2026, 3, 14, 9, 0, 0, 5e6, time.FixedZone("", 3600))
	got, err := s.Bytes()
	want := `{"at":"2026-03-14T08:00:00.005Z","head":"` + events[1].Hash.String() + `","job":"` + jobVan.String() +
		`","nothing_due":true,"principal":"` + events[2].By + `","remarks":"Öl","seq":2,"signoff":1,"verdict":"fit","which":"work"}`
	if err != nil || string(got) != want {
		t.Errorf("%s\nwant %s, %v", got, want, err)
	}
	s.Remarks = "\xff"
	if _, err := s.Bytes(); err == nil {
		t.Error("what is not UTF-8 is signed")
	}
}

func TestStateNames(t *testing.T) {
	if got := StateNames(); strings.Count(got, ", ") != len(States())-1 || !strings.HasPrefix(got, "draft, ready, walking") {
		t.Errorf("states are %s", got)
	}
}
