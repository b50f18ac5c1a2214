package pgtest

import (
	"net"
	"testing"
)

// line passes connections on to the server, each direction by pass; it gives the address
// to connect to. It ends with the test.
func line(t testing.TB, to string, pass func(server, client net.Conn)) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { l.Close() })
	go func() {
		for {
			client, err := l.Accept()
			if err != nil {
				return // the test has ended
			}
			server, err := net.Dial("tcp", to)
			if err != nil {
				client.Close()
				continue
			}
			pass(server, client)
		}
	}()
	return l.Addr().String()
}
