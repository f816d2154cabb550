package page

import (
	"encoding/xml"
	"fmt"
	"io"
	"slices"
	"strings"
	"testing"

	"daytank/planner/idletest"
	"daytank/procedures/proof"
	"daytank/procedures/report"
)

// life is how an engine of five tests went.
func life(t *testing.T) *proof.Life {
	t.Helper()
	l := proof.Life{Asset: "VAN-07", By: "odometer_km", LeftOut: []string{"VAN-07/1, before, cold: too short"}}
	s := proof.Ageing{State: idletest.Hot, Unit: idletest.CubicMillimetres, Limit: 5}
	var points []idletest.Point
	for i := range 5 {
		at, rms := 110000+10000*float64(i), 1.05+0.1*float64(i)
		s.Points = append(s.Points, proof.Point{Job: fmt.Sprintf("VAN-07/%d", i+1), Phase: idletest.Before, On: "2026-03-14", At: at, RMS: rms})
		points = append(points, idletest.Point{X: at, RMS: rms})
	}
	s.Trend = idletest.TrendOf(points, 5)
	l.States = append(l.States, s)
	return &l
}

// The trend has a dot for each test, its line and its limit, and a table of the same
// numbers; what was left out is said.
func TestTrend(t *testing.T) {
	r := walked(t)
	r.Trend = life(t)
	got := pages(t, r)["report"]
	_, got, found := strings.Cut(got, "Over the jobs of VAN-07")
	if !found {
		t.Fatal("there is no trend")
	}
	got, _, _ = strings.Cut(got, "</section>")
	for want, n := range map[string]int{`<circle class="before"`: 5, `class="limit"`: 1, `<polyline class="planned"`: 1, "<td>VAN-07/": 5, "150000 km": 2, "left out: VAN-07/1, before, cold: too short": 1, "slope +0.10 mm3/stroke per 10 000 km": 1, "slope &#43;0.10 mm3/stroke per 10 000 km": 2} {
		if has := strings.Count(got, want); has != n {
			t.Errorf("%d times %q, want %d", has, want, n)
		}
	}
	single := *r.Trend
	single.States[0].Points = single.States[0].Points[:1]
	if p := (artist{}).trend(&single); len(p) != 0 {
		t.Error("one test has a trend")
	}
}

// Each picture is well-formed, says what it is, and has nothing outside its edges.
func TestPictures(t *testing.T) {
	r := walked(t)
	all := slices.Concat(artist{}.trend(life(t)), artist{}.run(r.Job), artist{}.times(r.Job), artist{}.tests(r.Comparison))
	if len(all) < 8 {
		t.Fatalf("%d pictures", len(all))
	}
	for _, p := range all {
		dec := xml.NewDecoder(strings.NewReader(string(p.SVG)))
		var width, height float64
		named := map[string]bool{}
		for {
			token, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", p.Caption, err)
			}
			e, is := token.(xml.StartElement)
			if !is {
				continue
			}
			named[e.Name.Local] = true
			for _, a := range e.Attr {
				var x, y float64
				switch a.Name.Local {
				case "viewBox":
					fmt.Sscanf(a.Value, "0 0 %g %g", &width, &height)
				case "points":
					for _, pair := range strings.Fields(a.Value) {
						if _, err := fmt.Sscanf(pair, "%g,%g", &x, &y); err != nil || x < 0 || y < 0 || x > width || y > height {
							t.Errorf("%s: a point at %s of %g x %g, %v", p.Caption, pair, width, height, err)
						}
					}
				case "cx":
					if fmt.Sscan(a.Value, &x); x < 0 || x > width {
						t.Errorf("%s: a dot at %s of %g", p.Caption, a.Value, width)
					}
				}
			}
		}
		if strings.Contains(string(p.SVG), ">-0<") {
			t.Errorf("%s: zero has a sign", p.Caption)
		}
		if strings.Contains(p.Caption, "by cylinder") && !strings.Contains(string(p.SVG), ">4</text>") {
			t.Errorf("%s: the lines are told apart by their colour alone", p.Caption)
		}
		if !named["title"] || !named["desc"] {
			t.Errorf("%s: has no words for those who cannot see it", p.Caption)
		}
	}
	if p := (artist{}).tests(idletest.Comparison{}); len(p) > 0 {
		t.Errorf("pictures of no tests: %v", p)
	}
	if p := (artist{}).run(report.Job{}); len(p) > 0 {
		t.Errorf("pictures of no run: %v", p)
	}
}
