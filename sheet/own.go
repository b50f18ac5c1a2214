package sheet

// Own reads the sheet of numbers that a package embeds for itself alone. A mistake in
// it is one of the program and shows in any test of the package, so it panics.
func Own[T any](name string, data []byte) *T {
	v := new(T)
	if err := Embedded(name, data, v); err != nil {
		panic(err)
	}
	return v
}
