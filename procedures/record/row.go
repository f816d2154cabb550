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
	differs := func(what string, is, want any) error {
		return &Damage{folded.Events, fmt.Sprintf("the list of jobs says %s %v, its events say %v", what, is, want)}
	}
	switch {
	case row.Asset != folded.Asset || row.Number != folded.Number:
		return differs("job", fmt.Sprintf("%s/%d", row.Asset, row.Number), fmt.Sprintf("%s/%d", folded.Asset, folded.Number))
	case row.State != folded.State:
		return differs("state", row.State, folded.State)
	case row.Operator != folded.Operator:
		return differs("operator", row.Operator, folded.Operator)
	case row.Title != folded.Title:
		return differs("title", row.Title, folded.Title)
	case row.Events != folded.Events || row.Head != folded.Head:
		return differs("head", row.Head, folded.Head)
	case row.Weight != folded.Weight || row.Demo != folded.Demo || row.Procedure != folded.Procedure:
		return differs("weight", row.Weight, folded.Weight)
	}
	return nil
}
