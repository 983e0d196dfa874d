package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/signal"
	"path/filepath"
	"strings"
	"syscall"

	"stillwatch/permits/register"
	"stillwatch/web"
)

// serveConfig is everything that "serve" can be told.
type serveConfig struct {
	listen string // host:port; an empty host is every interface
	data   string // folder of the register
	url    string // address that tags carry; "" is worked out from listen
	hosts  string // further names under which browsers may reach the server, by commas
}

func runServe(args []string, out, errOut io.Writer) int {
	var c serveConfig
	fs := newFlags("serve", "Serve the register in a data folder; an empty folder starts with a page that makes the first chief engineer.", errOut)
	fs.StringVar(&c.listen, "listen", ":8080", "address to listen on, host:port")
	fs.StringVar(&c.data, "data", "stillwatch-data", "folder that holds the register; made if it does not exist")
	fs.StringVar(&c.url, "url", "", "address that phones reach and that tags carry, such as http://10.0.0.5:8080 (worked out if empty)")
	fs.StringVar(&c.hosts, "hosts", "", "further names of this server on the ship's network, separated by commas")
	if status, done := parse(fs, args, errOut); done {
		return status
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	if err := serve(ctx, c, out, slog.New(slog.NewTextHandler(errOut, nil))); err != nil {
		fmt.Fprintf(errOut, "stillwatch: %v\n", err)
		return 1
	}
	return 0
}

// serve runs the register until ctx ends.
func serve(ctx context.Context, c serveConfig, out io.Writer, logger *slog.Logger) error {
	reg, err := register.Open(ctx, c.data, register.Options{Logger: logger})
	if err != nil {
		return fmt.Errorf("open %s: %w", filepath.Clean(c.data), err)
	}
	l, err := net.Listen("tcp", c.listen)
	if err != nil {
		return errors.Join(fmt.Errorf("listen on %s: %w", c.listen, err), reg.Close())
	}
	base := c.url
	if base == "" {
		base = baseURL(l)
	}
	server, err := web.New(reg, web.Config{BaseURL: base, Hosts: hostList(base, c.hosts), Version: version(), Logger: logger})
	if err != nil {
		return errors.Join(err, l.Close(), reg.Close())
	}
	fmt.Fprintf(out, "Stillwatch %s serves %s at %s\n", version(), filepath.Clean(c.data), base)
	err = server.Serve(ctx, l)
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return errors.Join(err, reg.Close())
}

// baseURL gives the address under which others reach a listener: its own host, or, when it listens on every
// interface, this machine's first address on a network.
func baseURL(l net.Listener) string {
	host, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return "http://" + l.Addr().String()
	}
	if ip := net.ParseIP(host); ip == nil || ip.IsUnspecified() {
		host = firstAddress()
	}
	return "http://" + net.JoinHostPort(host, port)
}

// firstAddress gives the first IPv4 address of this machine that is not loopback, or loopback.
func firstAddress() string {
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

// hostList gives the names that the Host header may carry: that of the address on the tags, and those given.
func hostList(base, more string) []string {
	host := strings.TrimPrefix(strings.TrimPrefix(base, "https://"), "http://")
	if h, _, err := net.SplitHostPort(host); err == nil {
		host = h
	}
	hosts := []string{host}
	for name := range strings.SplitSeq(more, ",") {
		if name = strings.TrimSpace(name); name != "" {
			hosts = append(hosts, name)
		}
	}
	return hosts
}
