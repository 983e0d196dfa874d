package main

import (
	"fmt"
	"io"
	"strings"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/web/authority"
)

func runTLS(args []string, out, errOut io.Writer) int {
	if len(args) == 0 || args[0] != "init" && args[0] != "show" {
		fmt.Fprintln(errOut, "usage: stillwatch tls init --data DIR --hosts NAME,ADDRESS…   make the ship's own "+
			"authority\n       stillwatch tls show --data DIR                        print its certificate and fingerprint")
		return 1
	}
	fs := line.NewFlags("tls "+args[0], "The ship's own certificate authority, so that phones may use their camera "+
		"inside "+
		"the page.", errOut)
	data := fs.String("data", "stillwatch-data", "folder that holds the register")
	hosts := fs.String("hosts", "", "names and addresses of this server on the ship's network, separated by commas; the "+
		"authority can never vouch for others (this machine's address if empty)")
	if status, done := line.Parse(fs, args[1:], errOut); done {
		return status
	}
	if err := tlsCommand(args[0], *data, *hosts, out); err != nil {
		fmt.Fprintf(errOut, "stillwatch: %v\n", err)
		return 1
	}
	return 0
}

func tlsCommand(what, data, hosts string, out io.Writer) error {
	dir := line.AuthorityFolder(data)
	if what == "init" {
		if _, err := authority.Make(dir, tlsHosts(hosts), time.Now()); err != nil {
			return fmt.Errorf("%s: %w", dir, err)
		}
	}
	a, err := authority.Open(dir)
	if err != nil {
		return fmt.Errorf("%s: %w", dir, err)
	}
	fmt.Fprintf(out, "%sfingerprint (SHA-256): %s\nholds until: %s\nNow serve with --tls and open /trust on a phone: "+
		"the page says how to trust it.\n",
		a.PEM(), a.Fingerprint(), a.Until().Format(time.DateOnly))
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
