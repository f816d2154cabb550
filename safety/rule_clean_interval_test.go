package safety

import "testing"

// 10,000 km, 250 h or 6 months: common practice, no source.
func TestCleanInterval(t *testing.T) {
	since := func(last string) []string { return []string{"last_clean=" + last} }
	noted := func(message string) []found { return []found{{"note", "the last clean was " + message, nil}} }
	judge(t, cleanInterval, []row{
		{"17,200 km and a year ago", nil, nil},
		{"nobody knows of one", since(""), nil},
		{"just 10,000 km", since("{on: 2025-03-02, odometer: 138200 km}"), nil},
		{"just below", since("{on: 2025-03-02, odometer: 138201 km}"), noted("9999 km ago, under 10000 km")},
		{"half a year of 182 days", since("{on: 2025-09-13}"), nil},
		{"a day less", since("{on: 2025-09-14}"), noted("181 days ago, under 6 months")},
		{"yesterday", since("{on: 2026-03-13}"), noted("1 days ago, under 6 months")},
		{
			"just 250 h of running",
			[]string{"odometer=", "engine_hours=3120 h", "last_clean={on: 2025-03-02, engine_hours: 2870 h}"},
			nil,
		},
		{
			"just below",
			[]string{"odometer=", "engine_hours=3120 h", "last_clean={on: 2025-03-02, engine_hours: 2871 h}"},
			noted("249 h of running ago, under 250 h"),
		},
		{
			"far enough driven, but hardly any time ago",
			since("{on: 2026-03-01, odometer: 131000 km}"),
			noted("13 days ago, under 6 months"),
		},
	})
}
