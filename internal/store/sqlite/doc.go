// Package sqlite keeps a shop's jobs in one SQLite file in WAL mode.
//
// Problem: one small machine in a workshop, switched off by pulling the plug,
// has to keep what several people type at once, with nobody to look after a
// database server.
//
// Model: the journal of package store as a table whose rows a trigger protects
// from change; a jobs table with what lists show, kept in the same transaction;
// files as blobs, so that one file is the whole backup. Writes go through one
// connection, reads through others and never wait for a writer. Every commit
// waits for the disk (synchronous FULL). Migrations are numbered SQL files; an
// old database is copied before it is changed.
//
// Assumptions: the folder is on a local disk that does what fsync promises; one
// server a folder, because live updates do not cross processes (backups may be
// taken by another process).
//
// Where it stops being true: on network shares WAL does not work; a chain of
// shops needs another engine behind the same interface.
//
// Sources: https://www.sqlite.org/wal.html and pragma.html, from memory; errors'
// codes from the engine's own header.
package sqlite
