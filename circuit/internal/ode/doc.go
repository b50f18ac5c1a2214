// Package ode integrates small systems of ordinary differential equations to
// a tight tolerance. It is the reference for the fast solver of package
// circuit, not a part of it.
//
// # Problem
//
// Given dy/dt = f(t, y) and y at one time, find y at another, with an error
// that is known well enough to judge a faster method by.
//
// # Model
//
// [Explicit] is the Runge-Kutta pair of Dormand and Prince, orders 5 and 4,
// with the step chosen from the embedded error estimate. [Ros2] is the
// two-stage Rosenbrock W-method that package circuit uses, here with a dense
// numerical Jacobian, so that the method itself can be tried on published
// problems.
//
// # Assumptions, and where they stop being true
//
//   - f is smooth: a jump inside a step is only noticed by the error estimate.
//   - Explicit is not for stiff problems: its steps become as short as the
//     fastest decay.
//   - Ros2 is of second order: a relative tolerance below about 1e-6 is slow.
//
// # Sources
//
// J. R. Dormand, P. J. Prince, J. Comp. Appl. Math. 6 (1980) 19, coefficients from
// memory, checked by the order of convergence in the tests. J. G. Verwer, E. J. Spee, J.
// G. Blom, W. Hundsdorfer, SIAM J. Sci. Comput. 20 (1999) 1456, from memory, checked in
// the same way.
package ode
