package pgtest

import (
	"io"
	"net"
	"testing"
	"time"
)

// SlowLine passes a connection on to the server and holds everything back for a
// time, in each direction.
func SlowLine(t testing.TB, to string, delay time.Duration) string {
	t.Helper()
	return line(t, to, func(server, client net.Conn) {
		go late(client, server, delay)
		go late(server, client, delay)
	})
}

// late copies what comes, each piece after the delay.
func late(to, from net.Conn, delay time.Duration) {
	defer to.Close()
	type piece struct {
		at   time.Time
		data []byte
	}
	line := make(chan piece, 1000)
	go func() {
		defer close(line)
		for {
			buf := make([]byte, 32<<10)
			n, err := from.Read(buf)
			if n > 0 {
				line <- piece{time.Now().Add(delay), buf[:n]}
			}
			if err != nil {
				return
			}
		}
	}()
	for p := range line {
		time.Sleep(time.Until(p.at))
		if _, err := to.Write(p.data); err != nil {
			io.Copy(io.Discard, from)
			return
		}
	}
}
