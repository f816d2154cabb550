package engine

import (
	"io/fs"
	"math"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

func shippedLibrary(t testing.TB) *Library {
	t.Helper()
	l, err := Shipped()
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// figures are those of a layout, in the units of the table they are typed from.
type figures struct {
	ReturnFlow, ReturnHeat [3]float64 // L/h, W
	Line, Filter, Least    float64    // mL
	ReturnMax, Cap         float64    // °C
	Injectors              string
	Heavy, Mechanical      bool
	NeedsFeedPressure      bool
	Primer                 string
	Crank                  [3]float64 // s, s, attempts
}

// TestShippedLayouts has the planning assumptions of the project (common
// practice, no source; 34 L/h of an in-line pump is one maker's bleed figure;
// 30 s of cranking and 2 min of rest US Army TM 5-3810-303-24).
func TestShippedLayouts(t *testing.T) {
	light, heavy := [3]float64{10, 60, 3}, [3]float64{30, 120, 3}
	rail := figures{
		ReturnFlow: [3]float64{3, 30, 60}, ReturnHeat: [3]float64{80, 150, 400}, Line: 150, Filter: 300, Least: 150,
		ReturnMax: 90, Cap: 90, Injectors: "solenoid", Primer: "electric", NeedsFeedPressure: true, Crank: light,
	}
	suction := rail
	suction.NeedsFeedPressure, suction.Primer = false, "hand"
	want := map[string]figures{
		"rail-pumped":        rail,
		"rail-recirculating": rail,
		"rail-suction":       suction,
		"rotary": {
			ReturnFlow: [3]float64{8, 15, 40}, ReturnHeat: [3]float64{50, 100, 200}, Line: 150, Filter: 300, Least: 150,
			ReturnMax: 90, Cap: 90, Injectors: "mechanical", Mechanical: true, Primer: "hand", Crank: light,
		},
		"inline": {
			ReturnFlow: [3]float64{20, 34, 60}, ReturnHeat: [3]float64{150, 300, 600}, Line: 600, Filter: 1500, Least: 500,
			ReturnMax: 90, Cap: 90, Injectors: "mechanical", Mechanical: true, Heavy: true, Primer: "hand", Crank: heavy,
		},
		"unit-injector": {
			ReturnFlow: [3]float64{30, 60, 120}, ReturnHeat: [3]float64{200, 500, 1000}, Line: 150, Filter: 300, Least: 150,
			ReturnMax: 100, Cap: 100, Injectors: "solenoid", Primer: "electric", Crank: light,
		},
		"unit-injector-heavy": {
			ReturnFlow: [3]float64{60, 150, 300}, ReturnHeat: [3]float64{300, 1000, 3000}, Line: 600, Filter: 1500, Least: 500,
			ReturnMax: 100, Cap: 100, Injectors: "mechanical", Mechanical: true, Heavy: true, Primer: "hand", Crank: heavy,
		},
		"rail-heavy": {
			ReturnFlow: [3]float64{60, 150, 300}, ReturnHeat: [3]float64{300, 1000, 3000}, Line: 600, Filter: 1500, Least: 500,
			ReturnMax: 100, Cap: 100, Injectors: "solenoid", Heavy: true, Primer: "hand", Crank: heavy,
		},
	}
	got := map[string]figures{}
	for _, l := range shippedLibrary(t).Layouts() {
		got[l.ID] = figuresOf(l)
		if l.Title == "" || l.Source == "" {
			t.Errorf("%s: title %q, source %q", l.ID, l.Title, l.Source)
		}
	}
	if diff := cmp.Diff(want, got, almost); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
}

// almost makes numbers equal that differ by the rounding of a conversion.
var almost = cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) <= 1e-12*math.Max(math.Abs(a), math.Abs(b)) })

func figuresOf(l Layout) figures {
	return figures{
		ReturnFlow: [3]float64{l.ReturnFlow.Low.LitresPerHour(), l.ReturnFlow.Expected.LitresPerHour(), l.ReturnFlow.High.LitresPerHour()},
		ReturnHeat: [3]float64{l.ReturnHeat.Low.Watts(), l.ReturnHeat.Expected.Watts(), l.ReturnHeat.High.Watts()},
		Line:       l.LineVolume.Millilitres(), Filter: l.FilterVolume.Millilitres(), Least: l.LeastUnusable.Millilitres(),
		ReturnMax: l.ReturnTemperatureMax.Celsius(), Cap: l.HeatCap.Celsius(),
		Injectors: l.Injectors, Heavy: l.Heavy, Mechanical: l.Mechanical, NeedsFeedPressure: l.NeedsFeedPressure,
		Primer: l.Primer.Kind, Crank: [3]float64{l.Crank.For.Seconds(), l.Crank.Rest.Seconds(), float64(l.Crank.Attempts)},
	}
}

// TestEveryShippedFileIsRead holds that no file lies beside the library unread.
func TestEveryShippedFileIsRead(t *testing.T) {
	l := shippedLibrary(t)
	read := 0
	err := fs.WalkDir(data, "data", func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() {
			return err
		}
		read++
		if !strings.HasSuffix(path, ".yaml") {
			t.Errorf("%s is no YAML file", path)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if known := len(l.Layouts()) + len(l.Profiles()); read != known || read == 0 {
		t.Errorf("%d files, %d layouts and profiles", read, known)
	}
}

func TestWordsOfALayoutHaveTheirSources(t *testing.T) {
	texts := 0
	for _, l := range shippedLibrary(t).Layouts() {
		for _, key := range Words() {
			if l.Words[key].Say == "" {
				t.Errorf("%s has no word for %s", l.ID, key)
			}
		}
		if len(l.Cautions) == 0 {
			t.Errorf("%s has no caution of its own", l.ID)
		}
		for key, text := range l.Words {
			texts++
			if text.Say == "" || text.Source == "" {
				t.Errorf("%s: %s says %q from %q", l.ID, key, text.Say, text.Source)
			}
		}
		for _, text := range l.Cautions {
			texts++
			if text.Say == "" || text.Source == "" {
				t.Errorf("%s: a caution says %q from %q", l.ID, text.Say, text.Source)
			}
		}
	}
	if texts == 0 {
		t.Error("no layout has any words")
	}
	words := Words()
	words[0] = "changed"
	if Words()[0] == "changed" {
		t.Error("Words gives out its own list")
	}
}

const plainLayout = `layout: 1
id: plain
title: {en: A plain one}
return_flow: {low: 1 L/h, expected: 2 L/h, high: 3 L/h}
return_heat: {low: 1 W, expected: 2 W, high: 3 W}
line_volume: 100 mL
filter_volume: 200 mL
least_unusable: 150 mL
return_temperature_max: 90 °C
heat_cap: 90 °C
injectors: solenoid
primer: {kind: hand, stroke_volume: 6 mL}
crank: {for: 10 s, rest: 60 s, attempts: 3}
inlet_depression_limit: 17 kPa
return_head_limit: 20 kPa
return_restrictable: true
source: invented
`

func TestLayoutFilesAreRefused(t *testing.T) {
	if _, err := ReadLayout("plain.yaml", []byte(plainLayout)); err != nil {
		t.Fatal(err)
	}
	tests := []struct{ name, old, new, want string }{
		{"another version", "layout: 1", "layout: 2", "plain.yaml:1:9: layout: 2 is outside 1 to 1"},
		{"no version", "layout: 1\n", "", "plain.yaml:1:1: layout: is missing"},
		{"no limit of suction", "inlet_depression_limit: 17 kPa\n", "", "plain.yaml:1:1: inlet_depression_limit: is missing"},
		{"a limit of suction beyond the air's pressure", "17 kPa", "170 kPa", "plain.yaml:14:25: inlet_depression_limit: 170 kPa is outside 1 kPa to 100 kPa"},
		{"no source", "source: invented\n", "", "plain.yaml:1:1: source: is missing"},
		{"an unknown key", "source: invented\n", "source: invented\nheavey: true\n", "plain.yaml:18:1: heavey: this key is not known here; did you mean heavy?"},
		{"a band that falls", "low: 1 L/h", "low: 4 L/h", "plain.yaml:4:14: return_flow: low, expected and high must rise"},
		{"a band below nothing", "low: 1 L/h", "low: -1 L/h", "plain.yaml:4:20: return_flow.low: -1 L/h is outside 0 L/h to 2000 L/h"},
		{"one end of a band of another kind, and no more than that", "low: 1 L/h", "low: 1 L", `plain.yaml:4:20: return_flow.low: "1 L" is a volume, a flow is wanted; accepted: L/h, L/min, L/s, mL/h, mL/min, mL/s, m3/h, m3/s, gal/h, gal/min, impgal/h`},
		{"a volume below nothing", "100 mL", "-100 mL", "plain.yaml:6:14: line_volume: -100 mL is outside 0 mL to 50.0 L"},
		{"a return that is cold", "heat_cap: 90 °C", "heat_cap: 9 °C", "plain.yaml:10:11: heat_cap: 9 °C is outside 20 °C to 200 °C"},
		{"an unknown primer, and no more than that", "kind: hand", "kind: foot", `plain.yaml:12:16: primer.kind: "foot" is not one of hand, electric`},
		{"a primer without its figure", ", stroke_volume: 6 mL", "", "plain.yaml:12:9: primer.stroke_volume: is missing"},
		{"cranking over 30 s", "for: 10 s", "for: 30.5 s", "plain.yaml:13:14: crank.for: 30.5 s is outside 1 s to 30 s"},
		{"unknown words", "source: invented\n", "source: invented\nwords: {where: {en: here, source: invented}}\n", "plain.yaml:18:9: words.where: this key is not known here"},
		{"words without a source", "source: invented\n", "source: invented\nwords: {recognise: {en: here}}\n", "plain.yaml:18:20: words.recognise.source: is missing"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			text := strings.Replace(plainLayout, tt.old, tt.new, 1)
			if text == plainLayout {
				t.Fatal("nothing was changed")
			}
			_, err := ReadLayout("plain.yaml", []byte(text))
			if err == nil || err.Error() != tt.want {
				t.Errorf("got  %v\nwant %s", err, tt.want)
			}
		})
	}
}

func TestOwnLayoutsAndProfiles(t *testing.T) {
	l := shippedLibrary(t)
	if err := l.AddLayout("own/plain.yaml", []byte(plainLayout)); err != nil {
		t.Fatal(err)
	}
	if _, known := l.Layout("plain"); !known {
		t.Error("a layout of one's own is not known")
	}
	if _, known := shippedLibrary(t).Layout("plain"); known {
		t.Error("the shipped library was changed")
	}
	const profile = "profile: 1\nid: tractor\ntitle: {en: Launching tractor}\nsource: invented\n" +
		"engine: {layout: plain, cylinders: 4, displacement: 3.9 L, idle_speed: 700 rpm}\n"
	if err := l.AddProfile(`own\tractor.yaml`, []byte(profile)); err != nil {
		t.Fatal(err)
	}
	var own []string
	for _, p := range l.Profiles() {
		if p.Own {
			own = append(own, p.ID)
		}
	}
	if diff := cmp.Diff([]string{"tractor"}, own); diff != "" || len(l.Profiles()) != 4 {
		t.Errorf("%d profiles, of one's own (-want +got):\n%s", len(l.Profiles()), diff)
	}
	refused := []struct{ name, file, text, want string }{
		{"the file is called otherwise", "bus.yaml", profile, `bus.yaml: id: "tractor" is not the name of the file, "bus"`},
		{"no idle speed", "tractor.yaml", strings.Replace(profile, ", idle_speed: 700 rpm", "", 1), "tractor.yaml:5:9: engine.idle_speed: is missing"},
		{"no engine", "tractor.yaml", profile[:strings.Index(profile, "engine")], "tractor.yaml:1:1: engine: is missing"},
		{"an unknown layout", "tractor.yaml", strings.Replace(profile, "plain", "plane", 1), `tractor.yaml:5:18: engine.layout: layout "plane" is not one of inline, plain, rail-heavy, rail-pumped, rail-recirculating, rail-suction, rotary, unit-injector, unit-injector-heavy`},
		{"a profile of a profile", "tractor.yaml", strings.Replace(profile, "layout: plain", "profile: van-2-1, layout: plain", 1), "tractor.yaml:5:19: engine.profile: a profile does not rest on another one"},
		{"not YAML", "tractor.yaml", "a: [", "tractor.yaml:2:1: this is not YAML: did not find expected node content"},
	}
	for _, tt := range refused {
		if err := l.AddProfile(tt.file, []byte(tt.text)); err == nil || err.Error() != tt.want {
			t.Errorf("%s:\ngot  %v\nwant %s", tt.name, err, tt.want)
		}
	}
	if err := l.AddLayout("own/even.yaml", []byte(plainLayout)); err == nil {
		t.Error("a layout was taken from a file with another name")
	}
}

// readSection reads the engine section of a text as a job file is read.
func readSection(t testing.TB, text string) (Engine, []string, []string) {
	t.Helper()
	l := shippedLibrary(t)
	doc, err := strict.Parse("f", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	l.Resolve(doc, "engine")
	e, assumed := Read(doc.Root().Map().Required("engine").Map(), l)
	var problems []string
	if err := doc.Err(); err != nil {
		problems = strings.Split(err.Error(), "\n")
	}
	return e, assumed, problems
}

func TestProfileFirstOverridesAfter(t *testing.T) {
	e, assumed, problems := readSection(t, "engine: {profile: van-2-1, idle_burn: 0.8 L/h, filter_volume: 400 mL}\n")
	if problems != nil {
		t.Fatal(problems)
	}
	got := map[string]any{
		"layout": e.Layout.ID, "cylinders": e.Cylinders, "displacement": e.Displacement, "stroke": e.Stroke, "idle": e.IdleSpeed,
		"burn": e.IdleBurn.LitresPerHour(), "filter": e.FilterVolume, "line": e.LineVolume, "own pump": *e.OwnFeedPump, "stop": e.StopDevice,
	}
	want := map[string]any{
		"layout": "rail-pumped", "cylinders": 4, "displacement": quantity.Litres(2.1), "stroke": mm(92), "idle": quantity.RPM(800),
		"burn": 0.8, "filter": quantity.Millilitres(400), "line": quantity.Millilitres(150), "own pump": true, "stop": "key",
	}
	if diff := cmp.Diff(want, got, almost); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	if diff := cmp.Diff([]string{"engine.return_flow", "engine.primer", "engine.return_heat"}, assumed); diff != "" {
		t.Errorf("assumed (-want +got):\n%s", diff)
	}
}

func TestProfilesThatDoNotResolve(t *testing.T) {
	tests := []struct{ name, text, want string }{
		{"an unknown one", "engine: {profile: van-9, layout: rotary, cylinders: 4, displacement: 2 L, idle_speed: 800 rpm}\n", `f:1:19: engine.profile: no engine profile "van-9"; there are: boat-5-1, tractor-3-7, van-2-1`},
		{"none named", "engine: {profile: , layout: rotary, cylinders: 4, displacement: 2 L, idle_speed: 800 rpm}\n", "f:1:19: engine.profile: nothing is given"},
		{"an override that is wrong", "engine: {profile: van-2-1, idle_speed: 80 rpm}\n", "f:1:40: engine.idle_speed: 80 rpm is outside 200 rpm to 2000 rpm"},
	}
	for _, tt := range tests {
		_, _, problems := readSection(t, tt.text)
		if diff := cmp.Diff([]string{tt.want}, problems); diff != "" {
			t.Errorf("%s (-want +got):\n%s", tt.name, diff)
		}
	}
}

func TestEngineDefaults(t *testing.T) {
	e, assumed, problems := readSection(t, "engine: {layout: rotary, cylinders: 4, displacement: 2.5 L, idle_speed: 750 rpm}\n")
	if problems != nil {
		t.Fatal(problems)
	}
	rotary, _ := shippedLibrary(t).Layout("rotary")
	want := Engine{
		Layout: rotary, Cylinders: 4, Displacement: quantity.Litres(2.5), Cycle: 4, Combustion: "direct", Injectors: "mechanical",
		IdleSpeed: quantity.RPM(750), ReturnTemperatureMax: 90, FilterVolume: quantity.Millilitres(300), LineVolume: quantity.Millilitres(150),
		Primer: rotary.Primer, Crank: rotary.Crank, CorrectionLimit: CommonCorrectionLimit,
	}
	if diff := cmp.Diff(want, e); diff != "" {
		t.Errorf("-want +got:\n%s", diff)
	}
	wantAssumed := []string{"engine.return_flow", "engine.line_volume", "engine.filter_volume", "engine.primer", "engine.return_heat"}
	if diff := cmp.Diff(wantAssumed, assumed); diff != "" {
		t.Errorf("assumed (-want +got):\n%s", diff)
	}
}

func TestEngineSectionsAreRefused(t *testing.T) {
	const base = "layout: rotary, cylinders: 4, displacement: 2.5 L, idle_speed: 750 rpm"
	tests := []struct {
		name, add string
		want      []string
	}{
		{"burn and injection", "idle_burn: 0.7 L/h, idle_injection: 7 mm3/stroke", []string{"f:1:118: engine.idle_injection: idle_burn is given as well: give one of the two"}},
		{"heat and rise", "return_heat: 150 W, return_rise: 8 K", []string{"f:1:115: engine.return_rise: return_heat is given as well: give one of the two"}},
		{"a third way of combustion", "combustion: prechamber", []string{`f:1:94: engine.combustion: "prechamber" is not one of direct, indirect`}},
		{"a third number of strokes", "cycle: 3", []string{`f:1:89: engine.cycle: "3" is not one of 2, 4`}},
		{"unknown injectors", "injectors: magic", []string{`f:1:93: engine.injectors: "magic" is not one of solenoid, piezo, mechanical`}},
		{"an unknown stop", "stop_device: yes", []string{`f:1:95: engine.stop_device: "yes" is not one of key, proved, unproved`}},
		{"an unknown aftertreatment", "aftertreatment: yes", []string{`f:1:98: engine.aftertreatment: "yes" is not one of none, particulate-filter`}},
		{"unknown returns", "extra_returns: two", []string{`f:1:97: engine.extra_returns: "two" is not one of none, accounted, open`}},
		{"an unknown primer and nothing more", "primer: {kind: foot, stroke_volume: 6 mL}", []string{`f:1:97: engine.primer.kind: "foot" is not one of hand, electric`}},
		{"a hand primer with a flow", "primer: {kind: hand, stroke_volume: 6 mL, flow: 9 L/h}", []string{"f:1:124: engine.primer.flow: this key is not known here"}},
		{"cranking for 45 s", "crank: {for: 45 s, rest: 2 min, attempts: 3}", []string{"f:1:95: engine.crank.for: 45 s is outside 1 s to 30 s"}},
		{"an eighth attempt", "crank: {for: 30 s, rest: 2 min, attempts: 8}", []string{"f:1:124: engine.crank.attempts: 8 is outside 1 to 7"}},
		{"a return below nothing", "return_flow: -1 L/h", []string{"f:1:95: engine.return_flow: -1 L/h is outside 0 L/h to 2000 L/h"}},
		{"no burn at all", "idle_burn: 0 L/h", []string{"f:1:93: engine.idle_burn: 0 L/h is outside 0.02 L/h to 100 L/h"}},
		{"a correction limit of nothing", "correction_limit: 0 mm3/stroke", []string{"f:1:100: engine.correction_limit: 0 mm3/stroke is outside 0.1 mm³/stroke to 50 mm³/stroke"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			_, _, problems := readSection(t, "engine: {"+base+", "+tt.add+"}\n")
			if diff := cmp.Diff(tt.want, problems); diff != "" {
				t.Errorf("-want +got:\n%s", diff)
			}
		})
	}
}

func TestTextOfAProfileReadsAgain(t *testing.T) {
	for _, p := range shippedLibrary(t).Profiles() {
		text := "engine:\n  " + strings.ReplaceAll(strings.TrimSpace(p.Text()), "\n", "\n  ") + "\n"
		if _, _, problems := readSection(t, text); problems != nil {
			t.Errorf("%s: %v", p.ID, problems)
		}
	}
}

// FuzzReadLayout holds that no text makes the reader fall over, and that what
// it takes for a layout has bands in order.
func FuzzReadLayout(f *testing.F) {
	f.Add([]byte(plainLayout))
	for _, l := range []string{"rail-pumped", "inline"} {
		text, err := data.ReadFile("data/layouts/" + l + ".yaml")
		if err != nil {
			f.Fatal(err)
		}
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		l, err := ReadLayout("f", text)
		if err != nil {
			return
		}
		if !(0 <= l.ReturnFlow.Low && l.ReturnFlow.Low <= l.ReturnFlow.Expected && l.ReturnFlow.Expected <= l.ReturnFlow.High) {
			t.Errorf("return flow %v", l.ReturnFlow)
		}
		if !(0 <= l.ReturnHeat.Low && l.ReturnHeat.Low <= l.ReturnHeat.Expected && l.ReturnHeat.Expected <= l.ReturnHeat.High) {
			t.Errorf("return heat %v", l.ReturnHeat)
		}
	})
}
