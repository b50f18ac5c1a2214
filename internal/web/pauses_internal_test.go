package web

import "time"

// PingEvery has a bench of a test give signs of life more often.
func PingEvery(d time.Duration) func(*Config) { return func(c *Config) { c.pauses.ping = d } }

// LookAgain has a bench of a test ask a store that failed again sooner.
func LookAgain(d time.Duration) func(*Config) { return func(c *Config) { c.pauses.look = d } }

// ClaimLasts has a bench of a test wait less for another that claimed its work.
func ClaimLasts(d time.Duration) func(*Config) { return func(c *Config) { c.pauses.claim = d } }
