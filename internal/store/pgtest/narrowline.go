package pgtest

import (
	"net"
	"sync/atomic"
	"testing"
	"time"
)

// Narrow is a line that passes on only so many bytes a second.
type Narrow struct {
	Host string
	up   atomic.Int64
}

// Up is how many bytes went to the server.
func (n *Narrow) Up() int64 { return n.up.Load() }

// NarrowLine passes connections on to the server, each direction of each at a rate of
// bytes a second. Little is held between, so whoever sends waits for whoever reads.
func NarrowLine(t testing.TB, to string, rate int) *Narrow {
	t.Helper()
	n := &Narrow{}
	n.Host = line(t, to, func(server, client net.Conn) {
		for _, c := range []net.Conn{client, server} {
			_ = c.(*net.TCPConn).SetReadBuffer(64 << 10) // with a larger one the line is only less narrow
			_ = c.(*net.TCPConn).SetWriteBuffer(64 << 10)
		}
		go slowly(server, client, rate, &n.up)
		go slowly(client, server, rate, new(atomic.Int64))
	})
	return n
}

func slowly(to, from net.Conn, rate int, passed *atomic.Int64) {
	defer to.Close()
	defer from.Close()
	buf := make([]byte, 16<<10)
	for {
		n, err := from.Read(buf)
		if err != nil {
			return
		}
		time.Sleep(time.Duration(n) * time.Second / time.Duration(rate))
		if _, err := to.Write(buf[:n]); err != nil {
			return
		}
		passed.Add(int64(n))
	}
}
