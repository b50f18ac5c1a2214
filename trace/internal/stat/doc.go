// Package stat holds the order statistics and the straight-line fit that the
// reading of logs needs.
//
// The problem is gaps: a log does not tell every signal in every row, and NaN
// stands where it does not. All functions here leave NaN out. They assume
// nothing else of the numbers. Empty input gives NaN, or an infinity from Max
// and Min. Source: any textbook of statistics.
package stat
