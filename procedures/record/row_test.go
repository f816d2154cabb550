package record

import (
	"cmp"
	"errors"
	"os"
	"strings"
	"testing"
)

// A row that says something else than its events is damage, whatever member it is.
func TestCheckRow(t *testing.T) {
	f, err := os.Open("../../testdata/records/van.jsonl")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	x, err := ReadExport(f)
	if err != nil {
		t.Fatal(err)
	}
	var row Summary
	for _, e := range x.Events {
		if row, err = row.Apply(e); err != nil {
			t.Fatal(err)
		}
	}
	if err := CheckRow(row, x.Events); err != nil {
		t.Fatal(err)
	}
	for name, change := range map[string]func(*Summary){
		"state": func(s *Summary) { s.State = StateSigned }, "operator": func(s *Summary) { s.Operator = "Max" }, "title": func(s *Summary) { s.Title = "x" },
		"asset": func(s *Summary) { s.Asset = "VAN-08" }, "number": func(s *Summary) { s.Number++ }, "weight": func(s *Summary) { s.Weight = 0 },
		"head": func(s *Summary) { s.Head[0]++ }, "demonstration": func(s *Summary) { s.Demo = true }, "procedure": func(s *Summary) { s.Procedure = "x" },
		"number of events": func(s *Summary) { s.Events++ }, "id": func(s *Summary) { s.Job[0]++ },
		"begin": func(s *Summary) { s.Created = s.Created.Add(1) }, "last change": func(s *Summary) { s.Updated = s.Updated.Add(1) },
	} {
		other := row
		change(&other)
		var damage *Damage
		if err := CheckRow(other, x.Events); !errors.As(err, &damage) || !strings.Contains(err.Error(), "says "+cmp.Or(map[string]string{"asset": "job", "number": "job"}[name], name)+" ") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
