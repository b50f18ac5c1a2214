package quantity_test

import (
	"fmt"

	"weephole/quantity"
)

// A temperature keeps one SI value, whatever unit it was written in.
func ExampleParseTemperature() {
	t, err := quantity.ParseTemperature("203 °F")
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(quantity.Metric().Temperature(t), "is", quantity.US().Temperature(t))
	// Output: 95 °C is 203 °F
}

// A wrong text is answered with what to write instead.
func ExampleParsePressure() {
	p, _ := quantity.ParsePressure("16 psi")
	fmt.Println(quantity.Metric().Pressure(p))
	_, err := quantity.ParsePressure("16")
	fmt.Println(err)
	// Output:
	// 1.1 bar
	// pressure "16" has no unit; write "16 psi" or "16 bar"
}

// A cap may hold more than its rating; a share of a whole never passes 100 %.
func ExampleParseRatio() {
	held, _ := quantity.ParseRatio("105 %")
	fmt.Printf("%.2f\n", float64(held))
	_, err := quantity.ParseShare("105 %")
	fmt.Println(err)
	// Output:
	// 1.05
	// share "105 %" cannot be: a share lies between 0 % and 100 %
}
