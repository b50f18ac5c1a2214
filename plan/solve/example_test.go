package solve_test

import (
	"context"
	"fmt"
	"math"

	"weephole/plan/solve"
)

// Sheldon Ross's two places: the item is in the first with probability 0.6, and
// looking there costs 30; in the second with 0.4, at 15. Probability over cost
// says the second first: 0.4/15 is more than 0.6/30. The published expected costs
// are 33 for that order and 36 for the other (testdata, two_causes_ross).
func ExampleSearch_Rank() {
	p := &solve.Problem{
		Weight: []float64{0.6, 0.4}, Faults: [][]int{{0}, {1}}, Kinds: 2, States: 1, Tries: 1,
		GiveUp: []float64{math.Inf(1), math.Inf(1)}, // not allowed
		Repairs: []solve.RepairAction{
			{Cost: []float64{30}, Then: []int{0}, Cures: []float64{1, 0}},
			{Cost: []float64{15}, Then: []int{0}, Cures: []float64{0, 1}},
		},
	}
	ways, err := solve.New(p, 0).Rank(context.Background(), 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range ways {
		fmt.Printf("place %d first: %.0f\n", a.Index+1, a.Expected)
	}
	// Output:
	// place 2 first: 33
	// place 1 first: 36
}

// A test for 4 tells two faults apart without error; repairing the wrong one costs
// 100 and does not help. Half the cars have either fault. Without the test a plan costs
// 100 + 100/2 = 150 on average, with it 4 + 100 = 104. Knowing the fault for free
// would cost 100, so finding out costs 4.
func ExampleSearch_PerfectInformation() {
	p := &solve.Problem{
		Weight: []float64{0.5, 0.5}, Faults: [][]int{{0}, {1}}, Kinds: 2, States: 1, Tries: 1,
		GiveUp: []float64{math.Inf(1), math.Inf(1)},
		Repairs: []solve.RepairAction{
			{Cost: []float64{100}, Then: []int{0}, Cures: []float64{1, 0}},
			{Cost: []float64{100}, Then: []int{0}, Cures: []float64{0, 1}},
		},
		Checks: []solve.CheckAction{{Cost: []float64{4}, Then: []int{0}, P: [][]float64{{1, 0}, {0, 1}}}},
	}
	search := solve.New(p, 0)
	ways, err := search.Rank(context.Background(), 0)
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, a := range ways {
		kind := "repair"
		if a.Kind == solve.DoCheck {
			kind = "check"
		}
		fmt.Printf("%s %d first: %.0f\n", kind, a.Index+1, a.Expected)
	}
	fmt.Printf("with the fault known: %.0f\n", search.PerfectInformation(0))
	// Output:
	// check 1 first: 104
	// repair 1 first: 150
	// repair 2 first: 150
	// with the fault known: 100
}
