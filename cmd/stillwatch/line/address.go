package line

import (
	"net"
	"strings"
)

// BaseURL returns the address under which others reach a listener: its own host, or, when it listens on every
// interface, this machine's first address on a network.
func BaseURL(l net.Listener) string {
	host, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return "http://" + l.Addr().String()
	}
	if ip := net.ParseIP(host); ip == nil || ip.IsUnspecified() {
		host = FirstAddress()
	}
	return "http://" + net.JoinHostPort(host, port)
}

// FirstAddress returns the first IPv4 address of this machine that is not loopback, or loopback.
func FirstAddress() string {
	addresses, err := net.InterfaceAddrs()
	if err != nil {
		return "127.0.0.1"
	}
	for _, a := range addresses {
		if n, ok := a.(*net.IPNet); ok && !n.IP.IsLoopback() && n.IP.To4() != nil {
			return n.IP.String()
		}
	}
	return "127.0.0.1"
}

// HostList returns the names that the Host header may carry: that of the address on the tags, and those given.
func HostList(base, more string) []string {
	host := strings.TrimPrefix(strings.TrimPrefix(base, "https://"), "http://")
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	return append([]string{host}, ByCommas(more)...)
}

// ByCommas returns what stands between commas, without what is empty.
func ByCommas(list string) []string {
	var out []string
	for item := range strings.SplitSeq(list, ",") {
		if item = strings.TrimSpace(item); item != "" {
			out = append(out, item)
		}
	}
	return out
}
