// Package sqlstore is the store in SQL that every SQL engine here shares.
//
// # Problem
//
// A job has to mean the same on SQLite and on PostgreSQL. Two sets of statements
// drift apart.
//
// # Model
//
// [Keeper] holds all statements of package store's interface. They use standard
// SQL with "?" for values. [Engine] is what differs: how values are written, how
// the engine's errors are read, when a transaction is tried again, and what is
// checked before a commit counts as confirmed.
//
// Entries of one job are numbered by an update of the job's row. That row is the
// lock: two writers of one job wait for each other, writers of two jobs do not.
// The primary key (job, number) and the unique key (job, id) hold even if an
// engine had no such lock.
//
// # Assumptions
//
// A transaction that failed may be run again as a whole: each has the same effect
// the second time. That is why an entry brings its id and a tally line its number.
//
// # Where it stops being true
//
// Files are values in a row, at most some tens of megabytes each. Search looks for
// parts of words in every job of the list; it has no index.
//
// # Sources
//
// ISO/IEC 9075 for the statements, from memory; ON CONFLICT and RETURNING are no
// standard but both engines have them (their manuals, from memory).
package sqlstore
