// Package quantity holds the measured and priced things a workshop speaks of: temperatures,
// temperature differences, gauge pressures, volumes, durations, lengths, speeds, mass flows,
// shares, money and hourly rates.
//
// # Problem
//
// A tired person types "203F", "95,5 °C", "16 psi" or "1h 20min"; a program must take the
// meaning and never guess a unit. What it answers must be in the shop's own units, with no
// more digits than the trade uses.
//
// # Model
//
// Each quantity is its own type, so that a difference cannot stand where a temperature must.
// The number inside is SI (degrees Celsius for temperatures, pascal gauge for pressures,
// dollars or euros for money). The Parse functions read text; Units prints it. MarshalText
// writes the shortest text that reads back to exactly the same number, trying the trade's units
// first, so that "16 psi" stays "16 psi" in a file.
//
// # Assumptions, and where they stop being true
//
//   - Pressures are gauge, as testers and caps show them. Absolute units are refused.
//   - Gallon, quart, pint and fluid ounce are the US ones unless "imp" or "uk" is written.
//   - "$" is read as USD; write "CAD 120" and the like for other dollars.
//   - "1,500" could be a thousand and a half or one and a half: outside money, it is refused.
//     In money, where nobody writes tenths of a cent, it is a thousand and a half.
//   - "12:30" could be minutes or hours: refused, unless "min" or "h" follows.
//   - "unknown" is not a quantity; callers handle it.
//
// # Sources
//
// Unit factors: see the table in unit.go, compared in tests with scipy.constants 1.10.1.
package quantity
