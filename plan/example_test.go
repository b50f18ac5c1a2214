package plan_test

import (
	"fmt"

	"weephole/plan"
)

// The numbers of the plan that belong to no check and no repair stand in
// settings.yaml, each with its source.
func ExampleDefaultAssumptions() {
	a, err := plan.DefaultAssumptions()
	if err != nil {
		fmt.Println(err)
		return
	}
	// A hot engine takes this long until it may be opened; meanwhile the bay is
	// charged at a share of the labour rate.
	wait := a.CoolDown.Value / 60 * a.LabourRate.Value * a.IdleBay.Value
	fmt.Printf("%.0f minutes, $%.0f an hour, a share of %.2f: $%.2f\n",
		a.CoolDown.Value, a.LabourRate.Value, a.IdleBay.Value, wait)
	// Output: 75 minutes, $110 an hour, a share of 0.12: $16.50
}
