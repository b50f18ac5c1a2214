// Package web is the bench: the pages on which a job is worked, and the JSON API below
// them.
//
// # Problem
//
// A mechanic with greasy gloves, a phone in one hand and a probe in the other, enters
// what he sees. A colleague on a tablet does the same to the same job. The phone loses
// the network behind the lift. The machine that serves them may be switched off at any
// moment. What the page has confirmed must be kept, what it has not must be sent again,
// and everybody must see the same job.
//
// # Model
//
// Every change is one entry in the job's journal (package store), posted to the API with
// an id that the device made up, so that it can be sent any number of times. The entry is
// on the disk before the answer leaves. Then the others are told by server-sent events
// (live.go), and the job is worked out again (package answers). Each answer is told in
// the same way, and kept, so that a page is drawn from the disk and waits for nothing.
// What takes seconds and is asked for now and then (plan, proof, letter) is worked out by
// package answers; its page says so and swaps it in. Pages are HTML from templates; the
// script (assets/) posts entries, keeps those that could not be sent, and swaps the parts
// of the page that have changed, without moving what is in sight (assets/still.js).
//
// The bench is made of six things: jobs (the state of each job, its entries and
// answers), live (who listens), tallies (closed jobs, counted), api (JSON), pages
// (HTML) and guard (who may come in). A responder writes pages and failures. A
// house has a room for each shop, with all of these but the guard; the guard finds
// out who asks (identity.go) and leads him into his shop's room, which knows no
// other shop's store.
//
// A job's end is told in its head (closing) and its journal (archived); what it
// teaches goes into a TallyKeeper, lines that are only ever added to.
//
// Jobs are built up from types that each know only those before them (jobs.go). They are
// wording (what is said of a job), shopRecord (what the store holds of the shop) and
// journal (jobs as they stand). Then come diagnosis (answers, and how a job stands by
// them) and jobs (entries). Pages are made of a type for each subject (pages.go): strip,
// job, record, end, form, settings and people.
//
// The API is made of a type for each subject: jobs, findings, answers, repair, files,
// settings, tally, shops and people. Each lists its own routes. They make one table
// (routes.go), from which both the server and the OpenAPI description are made.
//
// # Assumptions
//
// A trusted shop: whoever has the passphrase may do everything; people with secrets
// of their own have roles. One process a data folder.
//
// # Where it stops being true
//
// Without a secure context there is no service worker: a page that is reloaded
// while the network is away is gone until it comes back, though not what was
// typed into it, which the device keeps. Plain HTTP on the shop's network can be
// listened to; docs/bench.md says what to do about it.
//
// # Sources
//
// WCAG 2.2; HTML's event-stream format; OpenAPI 3.1; argon2id's cost as RFC 9106
// recommends for little memory. From memory where no other source is named.
package web
