package planner

import (
	"errors"
	"testing"
	"time"

	"daytank/planner/strict"
)

// FuzzReadJob holds that no text makes the reader fall over or hang, that a
// refusal says what is wrong, and that a job that is accepted can be written,
// read again as the same and planned with figures that are finite and in order.
func FuzzReadJob(f *testing.F) {
	library := shippedLibrary(f)
	for _, text := range []string{
		string(jobText(f, "van.yaml")), string(jobText(f, "six-mistakes.yaml")), least,
		`{"job": 1, "engine": {"profile": "van-2-1"}, "fluid": {"flash_point": "67 C", "pack": "1 qt"}, "rig": {"charge": "1 mL", "container": {"capacity": "3 L"}, "supply_hose": {"bore": "8 mm", "length": "1.5 m"}, "return_hose": {"bore": "8 mm", "length": "5 ft"}}, "run": [{"soak_until": "35 C"}, {"speed": "6000 rpm", "for": "12 h"}], "site": {"ambient": "-40 C", "place": "outdoors"}}`,
		"", "job: 1\n", "job: [", "engine: {profile: &x van-2-1}\n", "run: [{soak: 1 min}, 1, {}]\n",
	} {
		f.Add([]byte(text))
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		begun := time.Now()
		j, err := ReadJob("f", text, library, today)
		if err != nil {
			var found strict.Problems
			if !errors.As(err, &found) || len(found) == 0 || found[0].Message == "" {
				t.Fatalf("refused by %T: %v", err, err)
			}
			return
		}
		p := Compute(j)
		checkPlan(t, j, p)
		again, err := ReadJob("g", j.File(), library, Date{2031, 1, 1})
		if err != nil {
			t.Fatalf("%s\n%v", j.File(), err)
		}
		if !j.Same(again) {
			t.Fatalf("read again the job differs:\n%s", j.File())
		}
		if took := time.Since(begun); took > 30*time.Second {
			t.Fatalf("took %v", took)
		}
	})
}
