package main

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"path/filepath"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/register"
	"stillwatch/permits/shore/sender"
	"stillwatch/web"
)

// serveConfig is everything that "serve" can be told.
type serveConfig struct {
	listen      string // host:port; an empty host is every interface
	data        string // folder of the register
	url         string // address that tags carry; "" is worked out from listen
	hosts       string // further names under which browsers may reach the server, by commas
	tls         bool   // serve over TLS too, by the ship's own authority
	listenTLS   string // host:port of the secure pages
	cert        string // files of a certificate from elsewhere, instead of the ship's own authority
	certKey     string
	metricsOpen bool   // the network may read /metrics too
	witness     string // folder in which the newest head is kept
	shore       string // address to which the log is sent; "": nowhere
	proxies     string // addresses or ranges of proxies whose word counts, by commas
}

// flags adds the flags that fill c in.
func (c *serveConfig) flags(of *cobra.Command) {
	fs := of.Flags()
	fs.StringVar(&c.listen, "listen", ":8080", "address to listen on, host:port")
	fs.StringVar(&c.data, "data", line.DataFolder, "folder that holds the register; made if it does not exist")
	fs.StringVar(&c.url, "url", "", "address that phones reach and that tags carry, such as http://10.0.0.5:8080 "+
		"(worked out if empty)")
	fs.StringVar(&c.hosts, "hosts", "", "further names of this server on the ship's network, separated by commas")
	fs.BoolVar(&c.tls, "tls", false, "serve over TLS too, with the ship's own authority in the data folder (made by: "+
		"stillwatch tls init)")
	fs.StringVar(&c.listenTLS, "listen-tls", ":8443",
		"address for TLS, host:port; the plain one goes on doing the whole job")
	fs.StringVar(&c.cert, "cert", "", "file of a certificate chain (PEM), to serve over TLS with it instead of the "+
		"ship's own authority")
	fs.StringVar(&c.certKey, "cert-key", "", "file of that certificate's key (PEM)")
	fs.StringVar(&c.witness, "witness", "", "folder on another disk in which the newest head of the log is kept, so that "+
		"an older copy of the register is known for what it is")
	fs.StringVar(&c.shore, "shore", "", "address of the shore, https://HOST, to which the log goes whenever there is a "+
		"link (first: stillwatch ship enrol)")
	fs.StringVar(&c.proxies, "trusted-proxy", "", "addresses or ranges (10.0.0.0/24) of proxies that tell the true "+
		"address of whoever asks, separated by commas; without it no such header is believed")
	fs.BoolVar(&c.metricsOpen, "metrics-open", false, "let the whole network read /metrics, not this computer alone")
}

// check refuses flags that contradict one another.
func (c *serveConfig) check() error {
	switch {
	case (c.cert == "") != (c.certKey == ""):
		return errors.New("--cert and --cert-key go together")
	case c.tls && c.cert != "":
		return errors.New("--tls takes the ship's own authority and --cert another's certificate: choose one")
	}
	return nil
}

// secure reports whether the register is to be served over TLS too.
func (c *serveConfig) secure() bool { return c.tls || c.cert != "" }

func serveCommand() *cobra.Command {
	var s serveConfig
	c := &cobra.Command{Use: "serve", Short: "Serve the register on the ship's network", Args: line.None,
		Long: "Serve the register in a data folder; an empty folder starts with a page that makes the first chief engineer.",
		Example: `  stillwatch serve --data /var/lib/stillwatch
  stillwatch serve --data /var/lib/stillwatch --tls --witness /media/disk/heads`}
	s.flags(c)
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := s.check(); err != nil {
			return err
		}
		ctx, stop := line.UntilStopped()
		defer stop()
		return serve(ctx, s, c.OutOrStdout(), slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil)))
	}
	return c
}

// serve runs the register until ctx ends: then it takes no more requests, cuts the live pages, lets running acts reach
// the disk, and closes the register last.
func serve(ctx context.Context, c serveConfig, out io.Writer, logger *slog.Logger) error {
	reg, err := register.Open(ctx, c.data, register.Options{Logger: logger, Witness: c.witness})
	if err != nil {
		return fmt.Errorf("open %s: %w", filepath.Clean(c.data), err)
	}
	return errors.Join(serveRegister(ctx, c, reg, out, logger), reg.Close())
}

func serveRegister(ctx context.Context, c serveConfig, reg *register.Register, out io.Writer,
	logger *slog.Logger) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	sent, err := sendAshore(ctx, c.shore, reg, logger)
	if err != nil {
		return err
	}
	defer func() { stop(); <-sent }()
	l, err := net.Listen("tcp", c.listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w", c.listen, err)
	}
	base := c.url
	if base == "" {
		base = line.BaseURL(l)
	}
	cfg := web.Config{BaseURL: base, Hosts: line.HostList(base, c.hosts), Version: line.Version(), Logger: logger,
		Meter: newMeter(ctx, reg, logger), MetricsOpen: c.metricsOpen, TrustedProxies: line.ByCommas(c.proxies)}
	if reg.NeedsFirstRun() {
		cfg.FirstRunCode = firstRunCode()
	}
	var safe *secureSide
	if c.secure() {
		if safe, err = openSecureSide(c, cfg.Hosts, base, logger); err != nil {
			return errors.Join(err, l.Close())
		}
		cfg.Trust = safe.trust
	}
	server, err := web.New(reg, cfg)
	if err != nil {
		return errors.Join(err, l.Close(), safe.close())
	}
	fmt.Fprintf(out, "Stillwatch %s serves %s at %s\n", line.Version(), filepath.Clean(c.data), base)
	sides := []side{{server, l}}
	if safe != nil {
		cfg.Secure = true
		twin, err := web.New(reg, cfg)
		if err != nil {
			return errors.Join(err, l.Close(), safe.close())
		}
		fmt.Fprintf(out, "and over TLS at %s\n", safe.url)
		sides = append(sides, side{twin, safe.listener})
	}
	if cfg.FirstRunCode != "" {
		fmt.Fprintf(out, "First run: open %s/first-run and type the code %s\n", base, cfg.FirstRunCode)
	}
	return serveAll(ctx, sides)
}

// sendAshore sends the log to a shore until ctx ends; the channel is closed when it has ended. Without an address
// there is nothing to send.
func sendAshore(ctx context.Context, address string, reg *register.Register,
	logger *slog.Logger) (<-chan struct{}, error) {
	ended := make(chan struct{})
	if address == "" {
		close(ended)
		return ended, nil
	}
	s, err := sender.New(ctx, reg, address, sender.Options{Logger: logger})
	if err != nil {
		return nil, err
	}
	go func() { defer close(ended); s.Run(ctx) }()
	return ended, nil
}

// firstRunCode draws the code that the first page of an empty register asks for: 50 random bits in base 32.
func firstRunCode() string {
	code := rand.Text()[:10]
	return code[:5] + "-" + code[5:]
}

// side is one server with the address that it answers on.
type side struct {
	server *web.Server
	l      net.Listener
}

// serveAll serves every side until ctx ends or one of them fails, which stops the others.
func serveAll(ctx context.Context, sides []side) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	ended := make(chan error, len(sides))
	for _, s := range sides {
		go func() { ended <- s.server.Serve(ctx, s.l) }()
	}
	var errs []error
	for range sides {
		errs = append(errs, <-ended)
		stop()
	}
	return errors.Join(errs...)
}
