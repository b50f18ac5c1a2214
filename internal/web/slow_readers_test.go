package web_test

import (
	"bytes"
	"fmt"
	"image"
	"image/png"
	"math/rand/v2"
	"net"
	"net/http"
	"runtime"
	"strings"
	"testing"

	"weephole/internal/web"
)

// The most that a thousand listening pages and forty devices that never read may
// take, bytes.
const listenersTake = 200 << 20

func TestListenersAndDevicesThatNeverReadStaySmall(t *testing.T) {
	const listeners, neverRead = 1000, 40
	l := lay(t)
	id := l.job(hotCar)
	l.must("GET", "/api/jobs/"+id+"/odds", nil, nil)
	var f struct{ Name string }
	l.must("POST", "/api/jobs/"+id+"/files?name=big.png", largePhoto(t), &f)
	before := inUse()
	ask := func(path string) net.Conn {
		c, err := (&net.Dialer{}).DialContext(t.Context(), "tcp", l.server.Listener.Addr().String())
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(func() { c.Close() })
		if _, err := fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: localhost\r\n\r\n", path); err != nil {
			t.Fatal(err)
		}
		return c
	}
	first := make([]byte, 12)
	for range listeners {
		if _, err := ask("/api/jobs/" + id + "/events").Read(first); err != nil || string(first) != "HTTP/1.1 200" {
			t.Fatalf("%q, %v", first, err)
		}
	}
	for range neverRead {
		ask("/api/jobs/" + id + "/files/" + f.Name)
	}
	for range 20 { // entries go on, and every listener is told
		var m web.Made
		l.must("POST", "/api/jobs/"+id+"/findings", `{"check":"level-cold","found":"full"}`, &m)
	}
	took := inUse() - before
	t.Logf("%d listeners and %d readers that never read take %.0f MB", listeners, neverRead, float64(took)/1e6)
	if took > listenersTake {
		t.Errorf("they take %d MB, more than %d", took>>20, listenersTake>>20)
	}
}

// inUse is what is held, bytes. Garbage is collected first: how much of it lies about
// depends on what other tests keep.
func inUse() int64 {
	runtime.GC()
	var s runtime.MemStats
	runtime.ReadMemStats(&s)
	return int64(s.HeapAlloc + s.StackInuse)
}

// largePhoto is a picture that does not pack: about 20 MB.
func largePhoto(t *testing.T) []byte {
	t.Helper()
	img := image.NewNRGBA(image.Rect(0, 0, 2300, 2300))
	rng := rand.New(rand.NewPCG(1, 1))
	for i := range img.Pix {
		img.Pix[i] = byte(rng.Uint32())
	}
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.NoCompression}).Encode(&b, img); err != nil {
		t.Fatal(err)
	}
	if !strings.HasPrefix(http.DetectContentType(b.Bytes()), "image/png") {
		t.Fatal("no picture was made")
	}
	return b.Bytes()
}
