package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"stillwatch/cmd/stillwatch/line"
)

// unitConfig is everything that "unit" can be told beside the flags of serve, which it passes on.
type unitConfig struct {
	serveConfig
	kind    string // which unit to print
	program string // path of the program
	user    string
	backups string // folder of the copies
	keep    int    // days for which copies are kept
}

func unitCommand() *cobra.Command {
	var u unitConfig
	c := &cobra.Command{Use: "unit", Args: line.None,
		Short: "Print units for systemd, for a register and its nightly copy",
		Long:  "Print a systemd unit that serves a data folder with the given flags, or those that back it up every night.",
		Example: `  stillwatch unit --data /var/lib/stillwatch --tls > stillwatch.service
  stillwatch unit --for timer > stillwatch-backup.timer`}
	u.flags(c)
	fs := c.Flags()
	fs.StringVar(&u.kind, "for", "serve", "which unit: serve, backup or timer")
	fs.StringVar(&u.program, "program", "", "path of the program (this one if empty)")
	fs.StringVar(&u.user, "user", "stillwatch", "account that it runs as; it owns the data folder")
	fs.StringVar(&u.backups, "backups", "/var/backups/stillwatch", "folder for the copies; better on another disk")
	fs.IntVar(&u.keep, "keep", 30, "days for which copies are kept, 1 to 3650")
	c.RunE = func(c *cobra.Command, _ []string) error {
		text, err := u.unit(c.Flags())
		c.Print(text)
		return err
	}
	return c
}

// unit returns the text of the unit that was asked for.
func (c *unitConfig) unit(flags *pflag.FlagSet) (string, error) {
	if err := c.settle(); err != nil {
		return "", err
	}
	switch c.kind {
	case "serve":
		return c.serveUnit(flags)
	case "backup":
		return c.backupUnit(), nil
	case "timer":
		return timerUnit, nil
	}
	return "", fmt.Errorf("there is no unit for %q: serve, backup or timer", c.kind)
}

// settle makes the paths absolute, since a unit has no folder of its own, and refuses what cannot be put into one.
func (c *unitConfig) settle() error {
	if err := c.check(); err != nil {
		return err
	}
	if c.program == "" {
		var err error
		if c.program, err = os.Executable(); err != nil {
			return fmt.Errorf("find this program: %w", err)
		}
	}
	if c.keep < 1 || c.keep > 3650 {
		return fmt.Errorf("--keep is %d days, 1 to 3650 can be kept", c.keep)
	}
	for _, path := range []*string{&c.program, &c.data, &c.backups, &c.cert, &c.certKey} {
		if *path == "" {
			continue
		}
		whole, err := filepath.Abs(*path)
		if err != nil {
			return fmt.Errorf("find %s: %w", *path, err)
		}
		*path = whole
	}
	for _, word := range []string{c.program, c.data, c.backups, c.cert, c.certKey, c.user, c.url, c.hosts, c.listen,
		c.listenTLS} {
		if strings.ContainsAny(word, "\n\r\x00\"'\\") {
			return fmt.Errorf("%q cannot stand in a unit: no quotes, backslashes or line ends", word)
		}
	}
	if strings.ContainsAny(c.user, " \t%$:") || c.user == "" || c.user == "root" {
		return fmt.Errorf("%q is no account to run as: one of its own, not root", c.user)
	}
	return nil
}

// quote puts a word into a unit's command: between quotes, with the two signs doubled that systemd would replace.
func quote(word string) string {
	return `"` + strings.NewReplacer("%", "%%", "$", "$$").Replace(word) + `"`
}

// quotePath puts a path into a setting that takes a list of paths.
func quotePath(p string) string {
	return `"` + strings.ReplaceAll(p, "%", "%%") + `"`
}

// serveWords returns the flags of serve that were given, with whole paths.
func (c *unitConfig) serveWords(flags *pflag.FlagSet) []string {
	own := map[string]bool{"for": true, "program": true, "user": true, "backups": true, "keep": true}
	words := []string{"--data", c.data}
	flags.Visit(func(f *pflag.Flag) {
		switch {
		case own[f.Name] || f.Name == "data":
		case f.Name == "cert":
			words = append(words, "--cert", c.cert)
		case f.Name == "cert-key":
			words = append(words, "--cert-key", c.certKey)
		default:
			words = append(words, "--"+f.Name+"="+f.Value.String())
		}
	})
	return words
}

// hardening is what neither unit needs. AF_NETLINK stays: the program asks for this machine's addresses. ProcSubset is
// left alone: /metrics reads when the machine was started. A system call that is not allowed fails, and does not
// end the program.
const hardening = `NoNewPrivileges=yes
ProtectSystem=strict
ProtectHome=yes
PrivateTmp=yes
PrivateDevices=yes
ProtectKernelTunables=yes
ProtectKernelModules=yes
ProtectKernelLogs=yes
ProtectControlGroups=yes
ProtectClock=yes
ProtectHostname=yes
ProtectProc=invisible
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
SystemCallArchitectures=native
SystemCallFilter=@system-service
SystemCallFilter=~@privileged @resources
SystemCallErrorNumber=EPERM
UMask=0077
`

// hidden reports whether the hardening keeps a file from the program.
func hidden(file string) bool {
	for _, folder := range []string{"/home", "/root", "/run/user", "/tmp", "/var/tmp"} {
		if file == folder || strings.HasPrefix(file, folder+"/") {
			return true
		}
	}
	return false
}

func (c *unitConfig) serveUnit(flags *pflag.FlagSet) (string, error) {
	for _, file := range []string{c.program, c.data, c.cert, c.certKey} {
		if hidden(file) {
			return "", fmt.Errorf("the unit cannot see %s: it is kept away from home and temporary folders; take "+
				"/var/lib/stillwatch, or give another with --data, --program or --cert", file)
		}
	}
	words := []string{quote(c.program), "serve"}
	for _, w := range c.serveWords(flags) {
		words = append(words, quote(w))
	}
	capability, err := c.capability()
	if err != nil {
		return "", err
	}
	return `# Put into /etc/systemd/system/stillwatch.service. Before the first start:
#   useradd --system --shell /usr/sbin/nologin ` + c.user + `
#   install -d -m 700 -o ` + c.user + ` ` + quotePath(c.data) + `
#   systemctl daemon-reload && systemctl enable --now stillwatch
[Unit]
Description=Stillwatch, permits to work and energy isolation
After=network-online.target
Wants=network-online.target
RequiresMountsFor=` + quotePath(c.data) + `
StartLimitIntervalSec=0

[Service]
ExecStart=` + strings.Join(words, " ") + `
User=` + c.user + `
ReadWritePaths=` + quotePath(c.data) + `
KillSignal=SIGTERM
KillMode=mixed
TimeoutStopSec=20
Restart=on-failure
RestartSec=2
LimitNOFILE=8192
RestrictAddressFamilies=AF_INET AF_INET6 AF_NETLINK
` + capability + hardening + `
[Install]
WantedBy=multi-user.target
`, nil
}

// capability returns the right to listen below port 1024 where a port asks for it, and no other.
func (c *unitConfig) capability() (string, error) {
	low := false
	for _, address := range []string{c.listen, c.listenTLS} {
		port, err := strconv.Atoi(address[strings.LastIndexByte(address, ':')+1:])
		if err != nil {
			return "", fmt.Errorf("%q is no address to listen on: host:port", address)
		}
		low = low || port > 0 && port < 1024 && (address == c.listen || c.secure())
	}
	if low {
		return "CapabilityBoundingSet=CAP_NET_BIND_SERVICE\nAmbientCapabilities=CAP_NET_BIND_SERVICE\n", nil
	}
	return "CapabilityBoundingSet=\n", nil
}

// backupUnit writes one copy, which is verified before it counts, and removes copies that are too old; only if the new
// one was written.
func (c *unitConfig) backupUnit() string {
	const shell = `exec "$$0" backup --data "$$1" "$$2/stillwatch-$$(date -u +%%Y%%m%%dT%%H%%M%%SZ).db"`
	const sweep = `find "$$0" -maxdepth 1 -name "stillwatch-*.db*" -mtime +"$$1" -delete`
	return `# Put into /etc/systemd/system/stillwatch-backup.service, with its timer beside it. Before the first run:
#   install -d -m 700 -o ` + c.user + ` ` + quotePath(c.backups) + `
# Each copy has a file .keys beside it, with which anybody can sign as the ship: keep it apart when copies go ashore.
[Unit]
Description=Copy of the Stillwatch register
RequiresMountsFor=` + quotePath(c.data) + ` ` + quotePath(c.backups) + `

[Service]
Type=oneshot
ExecStart=/bin/sh -c '` + shell + `' ` + quote(c.program) + ` ` + quote(c.data) + ` ` + quote(c.backups) + `
ExecStart=/bin/sh -c '` + sweep + `' ` + quote(c.backups) + ` ` + strconv.Itoa(c.keep) + `
User=` + c.user + `
ReadWritePaths=` + quotePath(c.data) + ` ` + quotePath(c.backups) + `
TimeoutStartSec=30min
Nice=10
IOSchedulingClass=idle
PrivateNetwork=yes
RestrictAddressFamilies=AF_UNIX
CapabilityBoundingSet=
` + strings.Replace(hardening, "SystemCallFilter=~@privileged @resources\n", "SystemCallFilter=~@privileged\n", 1)
}

// timerUnit runs the copy every night, or after the next start if the machine was off.
const timerUnit = `# Put into /etc/systemd/system/stillwatch-backup.timer, then: systemctl enable --now stillwatch-backup.timer
[Unit]
Description=Copy of the Stillwatch register, every night

[Timer]
OnCalendar=*-*-* 03:40:00
RandomizedDelaySec=10min
Persistent=yes

[Install]
WantedBy=timers.target
`
