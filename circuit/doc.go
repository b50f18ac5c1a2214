// Package circuit is a model of an engine's cooling circuit and its
// integration in time.
//
// The full account stands in docs/model.md.
package circuit
