package planner

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
)

func TestFileReadsAgainAsTheSameJob(t *testing.T) {
	texts := map[string]string{
		"the van":   string(jobText(t, "van.yaml")),
		"the least": least,
		"a profile": strings.Replace(least, "  layout: rail-pumped\n  cylinders: 4\n  displacement: 2.1 L\n  idle_speed: 800 rpm\n", "  profile: van-2-1\n  idle_burn: 0.8 L/h\n", 1),
		"JSON":      `{"job": 1, "engine": {"profile": "van-2-1"}, "fluid": {"flash_point": "67 °C", "pack": "600 mL"}, "rig": {"container": {"capacity": "3 L"}, "supply_hose": {"bore": "8 mm", "length": "1.5 m"}, "return_hose": {"bore": "8 mm", "length": "1.5 m"}}, "run": [{"soak_until": "35 °C"}], "site": {"ambient": "18 °C", "place": "outdoors"}}`,
		"CRLF":      strings.ReplaceAll(least, "\n", "\r\n"),
		"BOM":       "\ufeff" + least,
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			j, err := ReadJob("f", []byte(text), shippedLibrary(t), today)
			if err != nil {
				t.Fatal(err)
			}
			// On another day, where the profile says something else: the file
			// holds its own.
			changed := shippedLibrary(t)
			err = changed.AddProfile("van-2-1.yaml", []byte("profile: 1\nid: van-2-1\ntitle: {en: Another}\nsource: invented\n"+
				"engine: {layout: rotary, cylinders: 3, displacement: 3 L, idle_speed: 700 rpm, correction_limit: 3 mm³/stroke}\n"))
			if err != nil {
				t.Fatal(err)
			}
			again, err := ReadJob("g", j.File(), changed, Date{2031, 1, 1})
			if err != nil {
				t.Fatalf("%s\n%v", j.File(), err)
			}
			if !j.Same(again) {
				t.Errorf("read again the job differs:\n%s", j.File())
			}
			if diff := cmp.Diff(string(j.File()), string(again.File())); diff != "" {
				t.Errorf("written again the file differs:\n%s", diff)
			}
			if diff := cmp.Diff(Compute(j), Compute(again), cmp.AllowUnexported(Heat{})); diff != "" {
				t.Errorf("the plan differs:\n%s", diff)
			}
		})
	}
}

func TestSame(t *testing.T) {
	a := van(t)
	for _, set := range [][]string{{"rig.charge=1800 mL"}, {"title=Van 8"}, {"condition.seals="}, {"run.0.for=11 min"}} {
		if a.Same(van(t, set...)) {
			t.Errorf("%v makes no difference", set)
		}
	}
	if !van(t, "rig.charge=1.8 L").Same(van(t, "rig.charge=1800 mL")) {
		t.Error("1.8 L is not 1800 mL")
	}
}

func TestWith(t *testing.T) {
	j := van(t)
	changed, err := j.With("rig.charge", "2.4 L")
	if err != nil {
		t.Fatal(err)
	}
	if changed.Rig.Charge == nil || *changed.Rig.Charge != quantity.Litres(2.4) {
		t.Errorf("charge %v", changed.Rig.Charge)
	}
	if j.Rig.Charge != nil || strings.Contains(string(j.File()), "2.4 L") {
		t.Error("the job itself was changed")
	}
	back, err := changed.With("rig.charge", "")
	if err != nil || !back.Same(j) {
		t.Errorf("taken back, the job differs: %v", err)
	}
	named, err := j.WithText("title", "Van 7: spring # service")
	if err != nil || named.Title != "Van 7: spring # service" {
		t.Errorf("title %q, %v", named.Title, err)
	}
	refused := []struct {
		name string
		err  func() error
		want string
	}{
		{"a value that does not read", func() error { _, err := j.With("rig.charge", "much"); return err }, `van.yaml: rig.charge: volume "much": it does not begin with a number`},
		{"a path below a value", func() error { _, err := j.With("title.x", "1"); return err }, `title.x: nothing can be set below the single value "Van 7, spring service"`},
		{"an unknown key", func() error { _, err := j.With("rig.chrage", "2 L"); return err }, "van.yaml: rig.chrage: this key is not known here; did you mean charge?"},
		{"a required key taken away", func() error { _, err := j.With("site.place", ""); return err }, "van.yaml:58:7: site.place: is missing"},
		{"a text that steers a terminal", func() error { _, err := j.WithText("title", "Van\x1b[2J"); return err }, "title: control character U+001B"},
	}
	for _, tt := range refused {
		if err := tt.err(); err == nil || err.Error() != tt.want {
			t.Errorf("%s:\ngot  %v\nwant %s", tt.name, err, tt.want)
		}
	}
}

func TestReadJobWithRefusesChanges(t *testing.T) {
	tests := []struct{ change, want string }{
		{"rig.chrage=", "change rig.chrage=: rig.chrage: this key is not known here; did you mean charge?"},
		{"rgi.charge.low=", "change rgi.charge.low=: rgi: this key is not known here"},
		{"run.7.for=", `change run.7.for=: run.7.for: "7" is not a position in a list of 1, counted from 0`},
		{"rig.charge", "change rig.charge: a change is written PATH=VALUE, such as rig.charge=2 L"},
		{"=2 L", "change =2 L: : an empty key"},
		{"rig.charge={", "change rig.charge={: rig.charge={: value:2:1: this is not YAML: did not find expected node content"},
		{"run.7.for=1 min", "change run.7.for=1 min: run.7.for: \"7\" is not a position in a list of 1, counted from 0"},
	}
	for _, tt := range tests {
		if diff := cmp.Diff([]string{tt.want}, problems(t, least, tt.change)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.change, diff)
		}
	}
	if got := problems(t, "job: [", "rig.charge=2 L"); len(got) != 1 || !strings.HasPrefix(got[0], "f:") {
		t.Errorf("a file that is not YAML: %v", got)
	}
}

func TestProblemsOfAJobAreInTheOrderOfTheFile(t *testing.T) {
	text := strings.NewReplacer("18 °C", "180 °C", "600 mL", "600", "capacity: 3 L", "capacity: 3 kg", "job: 1", "job: 01").Replace(least)
	got := problems(t, text)
	var places []string
	for _, p := range got {
		places = append(places, p[:strings.Index(p, ": ")])
	}
	if diff := cmp.Diff([]string{"f:1:6", "f:9:9", "f:11:25", "f:16:17"}, places); diff != "" {
		t.Errorf("places (-want +got):\n%s\n%s", diff, strings.Join(got, "\n"))
	}
}
