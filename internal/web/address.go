package web

import (
	"fmt"
	"html/template"
	"net"
	"strings"

	"rsc.io/qr"
)

// addressView is an address by which another device reaches the bench, and the
// same as a picture for its camera.
type addressView struct {
	URL  string
	Code template.HTML
}

func (pg *settingsPages) addresses() (out []addressView) {
	for _, url := range pg.cfg.Addresses {
		code, err := codeSVG(url)
		if err != nil {
			pg.cfg.Log.Warn("an address has no QR code", "address", url, "error", err)
		}
		out = append(out, addressView{url, code})
	}
	return out
}

// quietZone is the white border that a QR code needs, in modules: ISO/IEC 18004
// asks for 4.
const quietZone = 4

// codeSVG draws a text as a QR code, black on white by day and by night: a
// camera does not read the other way round.
func codeSVG(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("QR code: %w", err)
	}
	var path strings.Builder
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+quietZone, y+quietZone)
			}
		}
	}
	side := code.Size + 2*quietZone
	return template.HTML(fmt.Sprintf( // numbers of our own, and a text that is escaped
		`<svg class="qr" role="img" aria-label="QR code of %s" viewBox="0 0 %d %d" shape-rendering="crispEdges"><rect width="%d" height="%d" fill="#fff"/><path fill="#000" d="%s"/></svg>`,
		template.HTMLEscapeString(text), side, side, side, side, path.String())), nil
}

// Addresses are those by which the devices of the shop's network reach a bench
// that listens on the host and port: the host itself, or where it listens
// everywhere the addresses of the machine's own networks. None for a bench that
// only its own machine reaches.
func Addresses(host, port string) []string {
	ip := net.ParseIP(host)
	switch {
	case host == "localhost" || ip != nil && ip.IsLoopback():
		return nil
	case ip != nil && !ip.IsUnspecified() || ip == nil && host != "":
		return []string{"http://" + net.JoinHostPort(host, port) + "/"}
	}
	list, err := net.InterfaceAddrs()
	if err != nil {
		return nil // the machine does not tell; its owner knows
	}
	var out []string
	for _, a := range list {
		if n, ok := a.(*net.IPNet); ok && n.IP.IsGlobalUnicast() && n.IP.To4() != nil {
			out = append(out, "http://"+net.JoinHostPort(n.IP.String(), port)+"/")
		}
	}
	return out
}
