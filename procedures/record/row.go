package record

import "fmt"

// CheckRow holds the row of a job, as a list shows it, against the events that it is
// folded from. The error is a [*Damage] that names the first member which differs.
func CheckRow(row Summary, events []Event) error {
	var folded Summary
	var err error
	for _, e := range events {
		if folded, err = folded.Apply(e); err != nil {
			return &Damage{e.Seq, err.Error()}
		}
	}
	for _, member := range []struct {
		name     string
		same     bool
		is, want any
	}{
		{"id", row.Job == folded.Job, row.Job, folded.Job},
		{"job", row.Asset == folded.Asset && row.Number == folded.Number, fmt.Sprintf("%s/%d", row.Asset, row.Number), fmt.Sprintf("%s/%d", folded.Asset, folded.Number)},
		{"state", row.State == folded.State, row.State, folded.State},
		{"operator", row.Operator == folded.Operator, row.Operator, folded.Operator},
		{"title", row.Title == folded.Title, row.Title, folded.Title},
		{"number of events", row.Events == folded.Events, row.Events, folded.Events},
		{"head", row.Head == folded.Head, row.Head, folded.Head},
		{"weight", row.Weight == folded.Weight, row.Weight, folded.Weight},
		{"demonstration", row.Demo == folded.Demo, row.Demo, folded.Demo},
		{"procedure", row.Procedure == folded.Procedure, row.Procedure, folded.Procedure},
		{"begin", row.Created.Equal(folded.Created), row.Created, folded.Created},
		{"last change", row.Updated.Equal(folded.Updated), row.Updated, folded.Updated},
	} {
		if !member.same {
			return &Damage{folded.Events, fmt.Sprintf("the list of jobs says %s %v, its events say %v", member.name, member.is, member.want)}
		}
	}
	return nil
}
