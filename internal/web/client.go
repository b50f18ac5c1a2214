package web

import (
	"net"
	"net/http"
	"net/netip"
	"slices"
	"strings"
)

// client is who sent a request, as far as the network tells.
type client struct {
	addr   netip.Addr
	secure bool // it came over TLS, to the bench or to its proxy
}

// client says where a request comes from. What a proxy says of the sender is
// believed only where the shop has named that proxy; of the addresses it passes
// on, the last that is no named proxy counts, because all before it can be made up.
func (g *guard) client(r *http.Request) client {
	c := client{secure: r.TLS != nil}
	host, _, err := net.SplitHostPort(r.RemoteAddr)
	if err != nil {
		host = r.RemoteAddr
	}
	if c.addr, err = netip.ParseAddr(host); err != nil || !g.trusted(c.addr) {
		return c
	}
	c.secure = c.secure || strings.EqualFold(strings.TrimSpace(r.Header.Get("X-Forwarded-Proto")), "https")
	passed := strings.Split(strings.Join(r.Header.Values("X-Forwarded-For"), ","), ",")
	for _, text := range slices.Backward(passed) {
		a, err := netip.ParseAddr(strings.TrimSpace(text))
		if err != nil {
			break
		}
		c.addr = a
		if !g.trusted(a) {
			break
		}
	}
	return c
}

// trusted tells whether an address is a proxy that the shop has named.
func (g *guard) trusted(a netip.Addr) bool {
	return slices.ContainsFunc(g.cfg.Proxies, func(p netip.Prefix) bool { return p.Contains(a.Unmap()) })
}
