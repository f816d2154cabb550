package safety

import "testing"

func TestReturnPiezo(t *testing.T) {
	judge(t, returnPiezo, []row{
		{"solenoid", nil, nil},
		{"piezo", []string{"engine.injectors=piezo"}, []found{{"caution", "piezo injectors need the pressure in their return: without the valve that holds it they do not inject", nil}}},
	})
}
