package parallel_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"weephole/parallel"
)

func TestEachPieceIsDoneOnceByOneWorker(t *testing.T) {
	for _, workers := range []int{0, 1, 3, 100} {
		for _, n := range []int{0, 1, 31, 32, 100} {
			done := make([]int, n)
			var kits []*int
			err := parallel.Each(context.Background(), workers, n, 8, func() *int {
				kits = append(kits, new(int))
				return kits[len(kits)-1]
			}, func(kit *int, i int) {
				done[i]++
				*kit++
			})
			sum := 0
			for _, k := range kits {
				sum += *k
			}
			if err != nil || sum != n {
				t.Errorf("%d workers did %d of %d pieces: %v", workers, sum, n, err)
			}
			for i, times := range done {
				if times != 1 {
					t.Errorf("%d workers: piece %d was done %d times", workers, i, times)
				}
			}
		}
	}
}

func TestAnEndedContextStopsTheWork(t *testing.T) {
	ctx, stop := context.WithCancel(context.Background())
	did := 0
	err := parallel.Each(ctx, 1, 100, 10, func() int { return 0 }, func(_, i int) {
		if did++; i == 4 {
			stop()
		}
	})
	if !errors.Is(err, context.Canceled) || did != 10 {
		t.Errorf("did %d pieces and ended with %v; want the first chunk of 10 and the context's error", did, err)
	}
}

func ExampleEach() {
	squares := make([]int, 5)
	_ = parallel.Each(context.Background(), 0, len(squares), 2,
		func() struct{} { return struct{}{} }, func(_ struct{}, i int) { squares[i] = i * i })
	fmt.Println(squares)
	// Output: [0 1 4 9 16]
}
