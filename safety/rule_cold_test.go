package safety

import "testing"

func TestCold(t *testing.T) {
	ambient := func(t string, more ...string) []string { return append([]string{"site.ambient=" + t}, more...) }
	judge(t, cold, []row{
		{"18 °C", nil, nil},
		{"5 °C", ambient("5 °C"), nil},
		{"just below", ambient("4.9 °C"), []found{{"caution", "at 5 °C hoses are stiff, clips slacken and the fluid is thick: look at every joint twice", nil}}},
		{"−10 °C, where no cloud point is known", ambient("-10 °C"), []found{{"caution", "at -10 °C hoses are stiff, clips slacken and the fluid is thick: look at every joint twice", nil}}},
		{"just below that", ambient("-10.6 °C"), []found{{"stop", "at -11 °C this fluid is below its cloud point of -10 °C: wax stops it in hose and filter", nil}}},
		{"below, with a cloud point of the data sheet", ambient("-15 °C", "fluid.cloud_point=-20 °C"), []found{{"caution", "at -15 °C hoses are stiff, clips slacken and the fluid is thick: look at every joint twice", nil}}},
		{"summer fluid", ambient("3 °C", "fluid.cloud_point=4 °C"), []found{{"stop", "at 3 °C this fluid is below its cloud point of 4 °C: wax stops it in hose and filter", nil}}},
	})
}
