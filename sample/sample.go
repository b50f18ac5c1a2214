package sample

// Systematic draws n indexes below size in proportion to their weights, which sum
// to 1, with one uniform number u of [0,1). The indexes rise.
func Systematic(size int, weight func(int) float64, n int, u float64) []int {
	picks := make([]int, 0, n)
	sum, j := 0.0, 0
	for i := range n {
		at := (float64(i) + u) / float64(n)
		for j < size-1 && sum+weight(j) <= at {
			sum += weight(j)
			j++
		}
		picks = append(picks, j)
	}
	return picks
}

// Pick draws one index below size in proportion to the weights, which may have any
// sum above 0, with a uniform number u of [0,1).
func Pick(size int, weight func(int) float64, u float64) int {
	total := 0.0
	for i := range size {
		total += weight(i)
	}
	u *= total
	for i := range size {
		if u -= weight(i); u < 0 {
			return i
		}
	}
	return size - 1
}
