// Package sample draws from weighted lists: the resampling of particles.
//
// # Problem
//
// A lineup holds thousands of weighted engines. Several packages want a few of them,
// each as often as its weight says, with as little luck in it as possible.
//
// # Model
//
// [Systematic] cuts the weights into n equal shares and takes one from each, with
// one random number for all (Kitagawa 1996). The number of times that an index is
// taken differs from n times its weight by less than one. [Pick] takes a single one.
// [LogSumExp] adds weights that are given by their logs.
//
// # Assumptions
//
// Weights are not negative, and their order is not tied to what is measured.
//
// # Where it stops being true
//
// With one random number for all, the error of a mean cannot be estimated from one
// draw. A list in which every second weight is alike can beat with the shares.
//
// # Sources
//
// Kitagawa, Journal of Computational and Graphical Statistics 5 (1996) 1, from memory.
package sample
