package store

import (
	"fmt"
	"math"
	"strings"
	"time"

	"daytank/procedures/record"

	"github.com/google/uuid"
)

// noLimit stands for a query without a limit; with an offset it still fits.
const noLimit = math.MaxInt64 / 2

// statement writes the query so that an index gives its rows in their order:
// several states are several ordered lists, of which each need be no longer
// than the whole, merged.
func (q Query) statement() (string, []any) {
	limit := int64(noLimit)
	if q.Limit > 0 {
		limit = int64(q.Limit)
	}
	var args []any
	bind := func(v any) string {
		args = append(args, v)
		return fmt.Sprintf("$%d", len(args))
	}
	common := q.conditions(bind)
	order := ` ORDER BY created DESC, job DESC LIMIT `
	if q.WorstFirst {
		order = ` ORDER BY weight DESC, created DESC, job DESC LIMIT `
	}
	page := order + bind(limit) + ` OFFSET ` + bind(q.Offset)
	if len(q.States) < 2 {
		for _, state := range q.States {
			common = append(common, `state = `+bind(string(state)))
		}
		return selectWhere(common) + page, args
	}
	enough := order + bind(limit+int64(q.Offset))
	var lists []string
	for _, state := range uniqueStates(q.States) {
		where := append(common[:len(common):len(common)], `state = `+bind(string(state)))
		lists = append(lists, `SELECT * FROM (`+selectWhere(where)+enough+`) AS list`)
	}
	return strings.Join(lists, ` UNION ALL `) + page, args
}

func uniqueStates(states []record.State) []record.State {
	var unique []record.State
	seen := map[record.State]bool{}
	for _, s := range states {
		if !seen[s] {
			seen[s] = true
			unique = append(unique, s)
		}
	}
	return unique
}

func (q Query) conditions(bind func(any) string) []string {
	var conditions []string
	if len(q.Jobs) > 0 {
		conditions = append(conditions, `job IN (`+joined(q.Jobs, bind)+`)`)
	}
	if q.holder != uuid.Nil {
		conditions = append(conditions, `holder = `+bind(q.holder.String()))
	}
	if q.Asset != "" {
		conditions = append(conditions, `asset = `+bind(q.Asset))
	}
	if q.Operator != "" {
		conditions = append(conditions, `operator = `+bind(q.Operator))
	}
	if !q.From.IsZero() {
		conditions = append(conditions, `created >= `+bind(milliUp(q.From)))
	}
	if !q.To.IsZero() {
		conditions = append(conditions, `created < `+bind(milliUp(q.To)))
	}
	return conditions
}

func joined(jobs []uuid.UUID, bind func(any) string) string {
	places := make([]string, len(jobs))
	for i, job := range jobs {
		places[i] = bind(job.String())
	}
	return strings.Join(places, `, `)
}

// milliUp gives the first whole millisecond at or after t: nothing is created
// between two of them.
func milliUp(t time.Time) int64 {
	ms := t.UnixMilli()
	if time.UnixMilli(ms).Before(t) {
		ms++
	}
	return ms
}

func selectWhere(conditions []string) string {
	query := `SELECT ` + columns + ` FROM jobs`
	if len(conditions) > 0 {
		query += ` WHERE ` + strings.Join(conditions, ` AND `)
	}
	return query
}
