// Package shore is the command "shore": the office's side of a fleet, over a PostgreSQL database.
package shore

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net"
	"os"
	"runtime/debug"
	"time"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits/shore"
	"stillwatch/web/authority"
	"stillwatch/web/office"
)

// config is what serving ashore is told on the command line or by the environment.
type config struct {
	db      string
	listen  string
	hosts   string
	cert    string
	certKey string
	behind  bool
}

// Command is the command "shore".
func Command() *cobra.Command {
	var s config
	c := &cobra.Command{Use: "shore", Short: "Take the logs of many ships, and show them to the office", Args: line.None,
		Long: "Take the logs of ships and show them to the office, over a PostgreSQL database. Any number of processes may " +
			"serve over one database. Nobody ashore changes a permit.",
		Example: `  stillwatch shore --db postgres://stillwatch@/shore
  stillwatch shore enrol --db postgres://stillwatch@/shore --ship "North Example"`}
	c.PersistentFlags().StringVar(&s.db, "db", "", "address of the PostgreSQL database: postgres://USER@HOST/NAME "+
		"(best by "+
		"the environment, STILLWATCH_DB, if it has a password)")
	fs := c.Flags()
	fs.StringVar(&s.listen, "listen", "localhost:8090", "address to listen on, host:port")
	fs.StringVar(&s.hosts, "hosts", "", "names by which ships and browsers ask, separated by commas")
	fs.StringVar(&s.cert, "cert", "", "file of a certificate chain (PEM): then it answers over TLS only")
	fs.StringVar(&s.certKey, "cert-key", "", "file of that certificate's key (PEM)")
	fs.BoolVar(&s.behind, "behind-tls", false, "a balancer or proxy before it answers over TLS")
	c.RunE = func(c *cobra.Command, _ []string) error {
		if err := s.check(); err != nil {
			return err
		}
		ctx, stop := line.UntilStopped()
		defer stop()
		return serve(ctx, s, c.OutOrStdout(), slog.New(slog.NewTextHandler(c.ErrOrStderr(), nil)))
	}
	c.AddCommand(enrolCommand(), personCommand(), explainCommand(), exportCommand())
	return c
}

// check refuses what would send names and work over an open line.
func (c config) check() error {
	host, _, err := net.SplitHostPort(c.listen)
	switch {
	case err != nil:
		return fmt.Errorf("--listen: %w", err)
	case (c.cert == "") != (c.certKey == ""):
		return errors.New("--cert and --cert-key go together")
	case c.cert == "" && !c.behind && !isLoopback(host):
		return fmt.Errorf("without --cert it answers this computer alone, not %q; behind a balancer that has the "+
			"certificate say --behind-tls", host)
	}
	return nil
}

func isLoopback(host string) bool {
	ip := net.ParseIP(host)
	return host == "localhost" || ip != nil && ip.IsLoopback()
}

// memoryLimit is from where on memory is collected as often as it takes to stay below, bytes: more than a ship's
// register has, for the followers of many ships.
const memoryLimit = 1 << 30

func serve(ctx context.Context, c config, out io.Writer, logger *slog.Logger) (err error) {
	if os.Getenv("GOMEMLIMIT") == "" {
		debug.SetMemoryLimit(memoryLimit)
	}
	s, err := shore.Open(ctx, c.db, shore.Options{Logger: logger})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, s.Close()) }()
	site, err := office.New(s, office.Config{Hosts: line.ByCommas(c.hosts), Secure: c.cert != "" || c.behind,
		Version: line.Version(), Logger: logger})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", c.listen)
	if err != nil {
		return fmt.Errorf("listen on %s: %w", c.listen, err)
	}
	scheme := "http://"
	if c.cert != "" {
		files := authority.NewFiles(c.cert, c.certKey, logger)
		if _, err := files.At(time.Now()); err != nil {
			return errors.Join(err, l.Close())
		}
		scheme = "https://"
		l = tls.NewListener(l, &tls.Config{MinVersion: tls.VersionTLS12,
			GetCertificate: func(*tls.ClientHelloInfo) (*tls.Certificate, error) { return files.At(time.Now()) }})
	}
	fmt.Fprintf(out, "Stillwatch %s, shore, at %s%s\n", line.Version(), scheme, l.Addr())
	return site.Serve(ctx, l)
}
