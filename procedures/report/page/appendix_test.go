package page

import (
	"bytes"
	"encoding/json"
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"

	"daytank/procedures"
	"daytank/procedures/handbook"
	"daytank/procedures/report"
)

// shownBy gives a page as `library show` writes it.
func shownBy(p handbook.Page) string {
	var text bytes.Buffer
	report.PageText(&text, p)
	return text.String()
}

// words gives the words of a text without marks of lists, tags and lines.
func words(text string) string {
	return strings.Join(strings.Fields(strings.ReplaceAll(text, "\n    - ", "\n")), " ")
}

// The appendix has what the plan found, the hazards of the steps, the layout and
// the formulas, in the words of `library show`, as a page and as text; the
// customer's copy has nothing of it, and JSON the names only.
func TestAppendix(t *testing.T) {
	r := walked(t)
	var names []string
	for _, p := range r.RestsOn {
		names = append(names, p.Kind+" "+p.ID)
	}
	for _, want := range []string{
		"rule siphon", "rule person", "rule assumed-value", "hazard fire", "layout rail-pumped",
		"formula idle-burn", "formula fluid-needed", "formula return-slip", "formula suction-pressure", "formula tank-dose", "formula test-spread",
	} {
		if !slices.Contains(names, want) {
			t.Errorf("no %s in %v", want, names)
		}
	}
	if slices.Contains(names, "rule cold") {
		t.Error("it has a rule that found nothing")
	}
	library, err := procedures.Shipped()
	if err != nil {
		t.Fatal(err)
	}
	all := pages(t, r)
	_, appendix, _ := strings.Cut(all["report"], "What it rests on")
	plain := words(html.UnescapeString(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(appendix, " ")))
	var asText bytes.Buffer
	r.Text(&asText, r.Print)
	for _, p := range r.RestsOn {
		same, err := handbook.Of(p.ID, library.Engines(), r.Print)
		if err != nil || len(same) != 1 {
			t.Fatalf("%s: %d pages, %v", p.ID, len(same), err)
		}
		want := shownBy(same[0])
		if !strings.Contains(asText.String(), "\n"+want) {
			t.Errorf("the text of %s is another", p.ID)
		}
		if !strings.Contains(plain, words(want)) {
			t.Errorf("the page of %s is another: want %s", p.ID, words(want))
		}
	}
	if strings.Contains(all["customer"], "What it rests on") || strings.Contains(all["customer"], "idle-burn") {
		t.Error("the customer's copy has it too")
	}
	named, err := json.Marshal(r.RestsOn)
	if err != nil || !bytes.HasPrefix(named, []byte(`[{"kind":"rule","id":"return-off"},`)) || bytes.Contains(named, []byte(`"parts"`)) {
		t.Errorf("in JSON it is %s, %v", named, err)
	}
	if none, err := json.Marshal(report.Appendix(nil)); err != nil || string(none) != "[]" {
		t.Errorf("nothing is %s, %v", none, err)
	}
}
