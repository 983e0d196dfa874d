package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"
)

func unitText(t *testing.T, args ...string) string {
	t.Helper()
	var out, told strings.Builder
	if status := run(append([]string{"unit"}, args...), &out, &told); status != 0 {
		t.Fatalf("unit %v = %d: %s", args, status, told.String())
	}
	return out.String()
}

// line returns the words after a key of a unit, "" if it is not there.
func unitLine(text, key string) string {
	for l := range strings.Lines(text) {
		if v, ok := strings.CutPrefix(l, key+"="); ok {
			return strings.TrimSpace(v)
		}
	}
	return ""
}

func TestUnitServesWithTheFlagsGiven(t *testing.T) {
	text := unitText(t, "--program", "/opt/stillwatch", "--data", "/srv/ship 100%", "--tls", "--listen", ":80", "--hosts",
		"a.ship,b.ship", "--user", "watch")
	want := `"/opt/stillwatch" serve "--data" "/srv/ship 100%%" "--hosts=a.ship,b.ship" "--listen=:80" "--tls=true"`
	if got := unitLine(text, "ExecStart"); got != want {
		t.Errorf("ExecStart = %s, want %s", got, want)
	}
	for key, want := range map[string]string{"User": "watch", "AmbientCapabilities": "CAP_NET_BIND_SERVICE",
		"ReadWritePaths": `"/srv/ship 100%%"`, "KillSignal": "SIGTERM"} {
		if got := unitLine(text, key); got != want {
			t.Errorf("%s = %q, want %q", key, got, want)
		}
	}
	if strings.Contains(unitText(t, "--program", "/opt/stillwatch", "--data", "/srv/ship"), "CAP_NET_BIND_SERVICE") {
		t.Error("a unit that listens on a high port has the right to listen on low ones")
	}
}

func TestUnitThatCannotHoldIsRefused(t *testing.T) {
	for _, tc := range []struct {
		name string
		args []string
		want string
	}{
		{"a line end in a path", []string{"--data", "/srv/a\nUser=root"}, "cannot stand in a unit"},
		{"quotes in a path", []string{"--data", `/srv/"a`}, "cannot stand in a unit"},
		{"a folder that the hardening hides", []string{"--data", "/home/chief/stillwatch-data"}, "cannot see"},
		{"root", []string{"--user", "root"}, "no account to run as"},
		{"a certificate without key", []string{"--cert", "a.pem"}, "go together"},
		{"an address without port", []string{"--listen", "ship"}, "no address to listen on"},
		{"another unit", []string{"--for", "tea"}, "no unit for"},
		{"copies for no day", []string{"--keep", "0"}, "1 to 3650"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var out, told strings.Builder
			if status := run(append([]string{"unit", "--program", "/opt/stillwatch", "--data", "/srv/ship"}, tc.args...), &out,
				&told); status != 1 || !strings.Contains(told.String(), tc.want) || out.Len() > 0 {
				t.Errorf("unit %q = %d, %q, want 1 and %q", tc.args, status, told.String(), tc.want)
			}
		})
	}
}

// TestUnitsAreTakenBySystemd has systemd itself read them, where it is installed.
func TestUnitsAreTakenBySystemd(t *testing.T) {
	reader, err := exec.LookPath("systemd-analyze")
	if err != nil {
		t.Skip("systemd-analyze is not installed")
	}
	const program = "/bin/sh" // it must be there and executable, no more
	dir := t.TempDir()
	files := map[string]string{"serve": "stillwatch.service", "backup": "stillwatch-backup.service",
		"timer": "stillwatch-backup.timer"}
	paths := []string{"verify", "--man=no"}
	for kind, name := range files {
		text := unitText(t, "--for", kind, "--program", program, "--data", "/srv/50% of it", "--user", "daemon")
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		paths = append(paths, filepath.Join(dir, name))
	}
	said, err := exec.Command(reader, paths...).CombinedOutput()
	own := slices.DeleteFunc(strings.Split(string(said), "\n"),
		func(l string) bool { return !strings.Contains(l, dir) && !strings.Contains(l, "stillwatch") })
	if len(own) > 0 {
		t.Errorf("systemd-analyze verify = %v and says of these units: %s", err, strings.Join(own, "\n"))
	}
}

// TestBackupUnitsCommandWritesACopy runs the unit's own command lines as systemd would put them to the shell.
func TestBackupUnitsCommandWritesACopy(t *testing.T) {
	if _, err := os.Stat("/bin/sh"); err != nil {
		t.Skip("there is no shell")
	}
	dir := t.TempDir()
	program, backups := filepath.Join(dir, "program"), filepath.Join(dir, "copies")
	if err := os.Mkdir(backups, 0o700); err != nil {
		t.Fatal(err)
	}
	script := "#!/bin/sh\n[ \"$1\" = backup ] && [ \"$2\" = --data ] && [ \"$3\" = /srv/ship ] && echo copy > \"$4\"\n"
	if err := os.WriteFile(program, []byte(script), 0o700); err != nil {
		t.Fatal(err)
	}
	old := filepath.Join(backups, "stillwatch-20200101T000000Z.db")
	if err := os.WriteFile(old, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	longAgo := time.Now().AddDate(-1, 0, 0)
	touch(t, old, longAgo)
	text := unitText(t, "--for", "backup", "--program", program, "--data", "/srv/ship", "--backups", backups, "--keep",
		"30")
	for l := range strings.Lines(text) {
		command, ok := strings.CutPrefix(l, "ExecStart=")
		if !ok {
			continue
		}
		command = strings.NewReplacer("$$", "$", "%%", "%").Replace(command) // as systemd does
		if out, err := exec.Command("/bin/sh", "-c", command).CombinedOutput(); err != nil {
			t.Fatalf("%s: %v: %s", command, err, out)
		}
	}
	left, err := filepath.Glob(filepath.Join(backups, "*"))
	if err != nil || len(left) != 1 || left[0] == old || !strings.HasPrefix(filepath.Base(left[0]), "stillwatch-2") {
		t.Errorf("after the backup the folder holds %v, want the new copy alone", left)
	}
}
