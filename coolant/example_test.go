package coolant_test

import (
	"fmt"

	"weephole/coolant"
	"weephole/quantity"
)

// Half and half under a 16 psi cap, at the sea and at 1,500 m. The steam tables
// (IAPWS-IF97) and Raoult's law, computed in Python, give 130.75 and 128.01 °C:
// testdata/boiling_point_vs_cap_and_altitude.csv, 52.4 mass percent.
func ExampleMix_BoilingC() {
	mix, err := coolant.NewMix(coolant.Ethylene, 0.5)
	if err != nil {
		fmt.Println(err)
		return
	}
	limit, _ := quantity.ParsePressure("16 psi")
	for _, altitude := range []float64{0, 1500} {
		absolute, err := coolant.PressureUnderCapPa(limit.Pascal(), altitude)
		if err != nil {
			fmt.Println(err)
			return
		}
		fmt.Printf("%4.0f m: %.1f °C\n", altitude, mix.BoilingC(absolute))
	}
	// Output:
	//    0 m: 130.7 °C
	// 1500 m: 128.0 °C
}

// Mechanical Engineers' Handbook, volume 4, table 6, prints 89.88 and 79.50 kPa.
func ExamplePressureAtAltitudePa() {
	fmt.Printf("%.2f kPa, %.2f kPa\n", coolant.PressureAtAltitudePa(1000)/1000, coolant.PressureAtAltitudePa(2000)/1000)
	// Output: 89.87 kPa, 79.50 kPa
}

// A textbook exercise: 16 quarts at 25 % are to become 40 % with pure antifreeze.
// The printed answer is 3.2 quarts (testdata/mixing_drain_refill_single.csv).
func ExampleDrainToReach() {
	drain, err := coolant.DrainToReach(16, 0.25, 0.40, 1)
	fmt.Printf("drain %.1f qt (%v)\n", drain, err)
	// Output: drain 3.2 qt (<nil>)
}

// A textbook exercise: of 40 litres, 4 are drawn and replaced by water three
// times. The printed answer is 29.16 litres left (testdata/mixing_repeated_replacement.csv).
func ExampleAfterDrains() {
	left, err := coolant.AfterDrains(1, 0, 4.0/40, 3)
	fmt.Printf("%.2f L (%v)\n", 40*left, err)
	// Output: 29.16 L (<nil>)
}

// The ASHRAE table of 2001: half and half ethylene glycol forms ice at -37 °C.
func ExampleFreezingC() {
	c, err := coolant.FreezingC(coolant.Ethylene, 0.5)
	fmt.Printf("%.0f °C (%v)\n", c, err)
	// Output: -37 °C (<nil>)
}
