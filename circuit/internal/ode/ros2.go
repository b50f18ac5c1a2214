package ode

import (
	"fmt"
	"math"
)

// gamma makes the method L-stable for an exact Jacobian.
const gamma = 1 - 1/math.Sqrt2

// Ros2 takes y from t to end with the two-stage W-method
//
//	(I - gamma h J) k1 = f(y)
//	(I - gamma h J) k2 = f(y + h k1) - 2 k1
//	y' = y + 3/2 h k1 + 1/2 h k2
//
// choosing the step from h(k1+k2)/2, the difference to the first-order
// solution. f must not depend on t. jacobianError multiplies J by 1+it, to
// try how the method copes with a wrong Jacobian.
func Ros2(f Func, t, end float64, y []float64, relative, absolute, jacobianError float64) error {
	n := len(y)
	r := newRos2(f, n)
	f(t, y, r.f)
	h := firstStep(y, r.f, end-t, relative, absolute)
	for range mostSteps {
		if t >= end || end-t < 1e-14*math.Abs(end) {
			return nil
		}
		h = min(h, end-t)
		norm := r.step(t, h, y, relative, absolute, jacobianError)
		if norm <= 1 {
			t += h
			copy(y, r.next)
		}
		h *= min(4, max(0.2, 0.9/math.Sqrt(max(norm, 1e-8))))
	}
	return fmt.Errorf("integrate to %g, reached %g: %w", end, t, ErrTooManySteps)
}

// Ros2Fixed takes y from t to end in equal steps of the same method.
func Ros2Fixed(f Func, t, end float64, y []float64, steps int, jacobianError float64) {
	r := newRos2(f, len(y))
	h := (end - t) / float64(steps)
	for i := range steps {
		r.step(t+float64(i)*h, h, y, 0, 1, jacobianError)
		copy(y, r.next)
	}
}

type ros2 struct {
	right            Func
	f, k1, k2, next  []float64
	nudged, fNudged  []float64
	matrix           [][]float64
	permutation      []int
	scratch, residue []float64
}

func newRos2(f Func, n int) *ros2 {
	r := &ros2{right: f, permutation: make([]int, n)}
	for _, v := range []*[]float64{&r.f, &r.k1, &r.k2, &r.next, &r.nudged, &r.fNudged, &r.scratch, &r.residue} {
		*v = make([]float64, n)
	}
	r.matrix = make([][]float64, n)
	for i := range r.matrix {
		r.matrix[i] = make([]float64, n)
	}
	return r
}

func (r *ros2) step(t, h float64, y []float64, relative, absolute, jacobianError float64) (norm float64) {
	n := len(y)
	r.right(t, y, r.f)
	copy(r.nudged, y)
	for j := range n {
		d := 1e-7 * max(math.Abs(y[j]), 1e-5)
		r.nudged[j] = y[j] + d
		r.right(t, r.nudged, r.fNudged)
		r.nudged[j] = y[j]
		for i := range n {
			r.matrix[i][j] = -gamma * h * (1 + jacobianError) * (r.fNudged[i] - r.f[i]) / d
			if i == j {
				r.matrix[i][j]++
			}
		}
	}
	r.factor()
	r.solve(r.f, r.k1)
	for i := range n {
		r.scratch[i] = y[i] + h*r.k1[i]
	}
	r.right(t+h, r.scratch, r.residue)
	for i := range n {
		r.residue[i] -= 2 * r.k1[i]
	}
	r.solve(r.residue, r.k2)
	for i := range n {
		r.next[i] = y[i] + h*(1.5*r.k1[i]+0.5*r.k2[i])
		scale := absolute + relative*max(math.Abs(y[i]), math.Abs(r.next[i]))
		norm = max(norm, math.Abs(0.5*h*(r.k1[i]+r.k2[i]))/scale)
	}
	return norm
}

// factor is Gaussian elimination with row exchanges.
func (r *ros2) factor() {
	a, n := r.matrix, len(r.matrix)
	for c := range n {
		p := c
		for i := c + 1; i < n; i++ {
			if math.Abs(a[i][c]) > math.Abs(a[p][c]) {
				p = i
			}
		}
		r.permutation[c] = p
		a[c], a[p] = a[p], a[c]
		for i := c + 1; i < n; i++ {
			a[i][c] /= a[c][c]
			for j := c + 1; j < n; j++ {
				a[i][j] -= a[i][c] * a[c][j]
			}
		}
	}
}

func (r *ros2) solve(b, x []float64) {
	a, n := r.matrix, len(r.matrix)
	copy(x, b)
	for c := range n {
		p := r.permutation[c]
		x[c], x[p] = x[p], x[c]
	}
	for i := range n {
		for j := range i {
			x[i] -= a[i][j] * x[j]
		}
	}
	for i := n - 1; i >= 0; i-- {
		for j := i + 1; j < n; j++ {
			x[i] -= a[i][j] * x[j]
		}
		x[i] /= a[i][i]
	}
}
