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
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			in, err := l.Accept()
			if err != nil {
				return // the test has ended
			}
			out, err := net.Dial("tcp", to)
			if err != nil {
				in.Close()
				continue
			}
			go late(in, out, delay)
			go late(out, in, delay)
		}
	}()
	return l.Addr().String()
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
