package web

// WithoutPlace is withoutPlace, for fuzzing.
var WithoutPlace = withoutPlace
