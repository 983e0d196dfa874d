package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/authority"
)

func tlsCommand() *cobra.Command {
	start := &cobra.Command{Use: "init", Short: "Make the ship's own authority", Args: line.None,
		Example: "  stillwatch tls init --data /var/lib/stillwatch --hosts stillwatch.ship,10.0.0.5"}
	startData := line.Data(start)
	hosts := start.Flags().String("hosts", "", "names and addresses of this server on the ship's network, separated by "+
		"commas; the authority can never vouch for others (this machine's address if empty)")
	start.RunE = func(c *cobra.Command, _ []string) error {
		dir := line.AuthorityFolder(*startData)
		if _, err := authority.Make(dir, tlsHosts(*hosts), time.Now()); err != nil {
			return fmt.Errorf("%s: %w", dir, err)
		}
		return showAuthority(c, dir)
	}
	show := &cobra.Command{Use: "show", Short: "Print its certificate and fingerprint", Args: line.None,
		Example: "  stillwatch tls show --data /var/lib/stillwatch"}
	showData := line.Data(show)
	show.RunE = func(c *cobra.Command, _ []string) error { return showAuthority(c, line.AuthorityFolder(*showData)) }
	return line.Group(&cobra.Command{Use: "tls", Short: "Make or show the ship's own certificate authority",
		Long:    "The ship's own certificate authority, so that phones may use their camera inside the page.",
		Example: start.Example + "\n" + show.Example}, start, show)
}

func showAuthority(c *cobra.Command, dir string) error {
	a, err := authority.Open(dir)
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	c.Printf("%sfingerprint (SHA-256): %s\nholds until: %s\nNow serve with --tls and open /trust on a phone: the page "+
		"says how to trust it.\n", a.PEM(), a.Fingerprint(), a.Until().Format(time.DateOnly))
	return nil
}

// tlsHosts returns the names and addresses that a certificate is for: those asked for, or this machine's address, and
// loopback always.
func tlsHosts(asked string) []string {
	hosts := []string{"127.0.0.1", "localhost"}
	for h := range strings.SplitSeq(asked, ",") {
		if h = strings.TrimSpace(h); h != "" && h != "127.0.0.1" && h != "localhost" {
			hosts = append(hosts, h)
		}
	}
	if len(hosts) == 2 && line.FirstAddress() != "127.0.0.1" {
		hosts = append(hosts, line.FirstAddress())
	}
	return hosts
}
