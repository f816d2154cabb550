package checklist

import (
	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"daytank/procedures/record"
)

// Differ gives how two states differ, but for the plan they rest on.
func Differ(a, b State) string {
	return cmp.Diff(a, b,
		cmp.AllowUnexported(State{}, progress{}, given{}, engineRun{}, cutOff{}, entry{}),
		cmpopts.IgnoreFields(State{}, "planned"), cmpopts.EquateEmpty(),
		cmp.Comparer(func(a, b record.Stamp) bool {
			return a.At.Equal(b.At) && a.MonoMS == b.MonoMS && a.Run == b.Run && a.By == b.By
		}))
}
