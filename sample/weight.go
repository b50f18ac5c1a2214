package sample

import (
	"math"

	"gonum.org/v1/gonum/floats"
)

// LogSumExp is the log of the sum of weights that are given by their logs, without
// overflow: -Inf for none, and where all are -Inf.
func LogSumExp(logs []float64) float64 {
	if len(logs) == 0 {
		return math.Inf(-1)
	}
	return floats.LogSumExp(logs)
}
