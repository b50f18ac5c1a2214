// Package postgres keeps the jobs of several benches in one PostgreSQL database.
//
// # Problem
//
// A group outgrows one machine: several benches, one body of jobs, one tally. What
// one mechanic enters must be on the others' screens within a second. A bench or
// the database may be killed or cut off at any moment, and nothing that was
// confirmed may be lost.
//
// # Model
//
// The statements are those of package sqlstore. Here is what PostgreSQL needs
// besides: a pool of connections, bounds in time, retries, plain words for its
// errors, numbered migrations, news between benches, and claims on the work of
// answering.
//
// A transaction is run again when the engine says that two collided (40001, 40P01,
// 23505) or when the connection was lost. A commit whose answer was lost may have
// happened; the second run finds it by the entry's id.
//
// News goes out with NOTIFY in the entry's own transaction. An engine without
// LISTEN is polled twice a second.
//
// # Assumptions
//
// PostgreSQL 15 or newer with its usual settings (fsync and synchronous_commit
// on), or an engine that speaks its protocol and passes the conformance suite.
// Needed: tables, primary, unique and foreign keys, identity columns, ON CONFLICT,
// RETURNING, transactions that keep a row locked from its update on. Used where
// there: LISTEN and NOTIFY, triggers in PL/pgSQL, row security with a session
// setting. Not used: extensions, advisory locks.
//
// # Where it stops being true
//
// Shops are kept apart for a role that row security holds for; otherwise a second
// shop is refused. Files stand in rows, so large ones pass through
// memory. Search has no index.
//
// # Sources
//
// Error codes: PostgreSQL documentation, appendix A, from memory.
package postgres
