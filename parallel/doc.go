// Package parallel shares out work over the cores.
//
// # Problem
//
// Thousands of engines are each worked out alone. All cores should do it, and the
// answer must not depend on how many there are.
//
// # Model
//
// [Each] numbers the pieces of work. Each worker takes the next chunk of numbers as soon
// as it is free. What a piece gives is kept by its number.
//
// # Where it stops being true
//
// A piece that writes to anything but its own place, or its worker's tools, makes the
// answer depend on chance.
package parallel
