package doctor

import (
	"context"
	"errors"
	"io/fs"
	"net"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/authority"
)

// patientAt makes a data folder with a register that has a chief engineer, and gives it still open.
func patientAt(t *testing.T, now time.Time) (string, *register.Register) {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "data")
	reg, err := register.Open(t.Context(), dir, register.Options{Now: func() time.Time { return now },
		Argon: register.Argon{MemoryKiB: 64, Iterations: 1}})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := reg.Close(); err != nil && !errors.Is(err, register.ErrClosed) {
			t.Error(err)
		}
	})
	chief := permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}}
	if err := reg.FirstRun(t.Context(), chief, "482916"); err != nil {
		t.Fatal(err)
	}
	return dir, reg
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

// doctorFor looks at a folder from a machine with one address on a made-up network.
func doctorFor(data string) *doctor {
	return &doctor{data: data, now: noon.Add(time.Hour), verifyUpTo: longestVerified,
		own: func() ([]net.Addr, error) {
			return []net.Addr{&net.IPNet{IP: net.IPv4(127, 0, 0, 1)}, &net.IPNet{IP: net.IPv4(192, 0, 2, 5)}}, nil
		},
		lookup: func(_ context.Context, host string) ([]string, error) {
			switch host {
			case "stillwatch.ship":
				return []string{"192.0.2.5"}, nil
			case "other.ship":
				return []string{"192.0.2.77"}, nil
			}
			return nil, errors.New("no such host")
		}}
}

// of returns the findings about one thing.
func (d *doctor) of(what string) (list []finding) {
	for _, f := range d.found {
		if f.what == what {
			list = append(list, f)
		}
	}
	return list
}

// expect checks that the last finding about a thing has a grade and says something.
func (d *doctor) expect(t *testing.T, what string, want grade, says string) {
	t.Helper()
	list := d.of(what)
	if len(list) == 0 {
		t.Fatalf("nothing was said about %s: %+v", what, d.found)
	}
	if !slices.ContainsFunc(list, func(f finding) bool { return f.grade == want && strings.Contains(f.words, says) }) {
		t.Errorf("about %s: %+v, want %s and %q", what, list, want, says)
	}
	for _, f := range list {
		if f.grade != gradeOK && f.do == "" {
			t.Errorf("about %s: %q, but not what to do", what, f.words)
		}
	}
}

func TestDoctorFindsNothingWrongWithARegisterInUse(t *testing.T) {
	dir, reg := patientAt(t, noon)
	before := names(t, dir)
	d := doctorFor(dir)
	d.examine(t.Context())
	for _, f := range d.found {
		if f.grade == gradeWrong {
			t.Errorf("%s: %s, want nothing wrong", f.what, f.words)
		}
	}
	d.expect(t, "register", gradeOK, "it is whole: ")
	d.expect(t, "last entry", gradeOK, "the clock is not behind it")
	d.expect(t, "keys", gradeOK, "only their owner")
	d.expect(t, "paper", gradeOK, "PDF")
	d.expect(t, "copies", gradeLook, "there is none")
	if after := names(t, dir); !slices.Equal(before, after) {
		t.Errorf("the folder held %v and holds %v, want it as it was", before, after)
	}
	if _, err := reg.SignIn(t.Context(), "chief", "482916", register.Origin{Address: "phone"}); err != nil {
		t.Errorf("the register takes no act after the doctor: %v", err)
	}
	var out strings.Builder
	if err := d.tell(&out); err != nil || strings.Count(out.String(), "\n") != len(d.found)+1 {
		t.Errorf("tell = %v with\n%s\nwant nil and one line a check", err, out.String())
	}
}

func names(t *testing.T, dir string) (list []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		list = append(list, e.Name())
	}
	return list
}

func TestDoctorTellsAFolderThatIsNotThere(t *testing.T) {
	d := doctorFor(filepath.Join(t.TempDir(), "nowhere"))
	d.examine(t.Context())
	d.expect(t, "data folder", gradeWrong, "is not there")
	if len(d.of("register")) > 0 {
		t.Error("a missing folder has a register")
	}
	if _, err := os.Stat(d.data); !errors.Is(err, fs.ErrNotExist) {
		t.Error("the doctor made the folder")
	}
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	d = doctorFor(file)
	d.examine(t.Context())
	d.expect(t, "data folder", gradeWrong, "is a file")
	empty := doctorFor(t.TempDir())
	empty.examine(t.Context())
	empty.expect(t, "register", gradeLook, "there is none")
}

func TestDoctorTellsKeysThatOthersMayReadOrThatAreGone(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("file modes do not say who may read a file on Windows")
	}
	dir, reg := patientAt(t, noon)
	if err := reg.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(filepath.Join(dir, pepperFile), 0o644); err != nil {
		t.Fatal(err)
	}
	d := doctorFor(dir)
	d.examine(t.Context())
	d.expect(t, "keys", gradeWrong, "pepper.key (0644)")
	if err := os.Remove(filepath.Join(dir, shipKeyFile)); err != nil {
		t.Fatal(err)
	}
	d = doctorFor(dir)
	d.examine(t.Context())
	d.expect(t, "keys", gradeWrong, "ship.key is missing")
	d.expect(t, "register", gradeWrong, "cannot be read")
}

func TestDoctorTellsARegisterThatIsDamaged(t *testing.T) {
	dir, reg := patientAt(t, noon)
	if err := reg.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, registerFile), []byte("this was a register once"), 0o600); err != nil {
		t.Fatal(err)
	}
	d := doctorFor(dir)
	d.examine(t.Context())
	d.expect(t, "register", gradeWrong, "cannot be read")
	var out strings.Builder
	if err := d.tell(&out); err != line.Mistake {
		t.Errorf("tell = %v, want line.Mistake", err)
	}
}

func TestDoctorTellsAClockThatIsWrong(t *testing.T) {
	dir, _ := patientAt(t, noon)
	for _, tc := range []struct {
		now  time.Time
		what string
		want grade
		says string
	}{
		{noon.Add(-time.Hour), "last entry", gradeWrong, "the clock stands 60 min behind it"},
		{noon.Add(-time.Second), "last entry", gradeOK, "not behind"},
		{noon.AddDate(-40, 0, 0), "clock", gradeWrong, "the year 1986"},
		{noon.AddDate(200, 0, 0), "clock", gradeWrong, "the year 2226"},
		{noon.AddDate(0, 0, -8), "clock", gradeWrong, "this program was made on 2026-11-18"},
		{noon, "clock", gradeOK, "2026-11-25 12:00"},
	} {
		d := doctorFor(dir)
		d.now, d.made = tc.now, noon.AddDate(0, 0, -7)
		d.examine(t.Context())
		d.expect(t, tc.what, tc.want, tc.says)
	}
}

func TestDoctorTellsWhereTheAddressOnTheTagsLeads(t *testing.T) {
	for _, tc := range []struct {
		url  string
		want grade
		says string
	}{
		{"", gradeLook, "none was given"},
		{"http://192.0.2.5:8080", gradeOK, "is this machine"},
		{"http://stillwatch.ship", gradeOK, "is this machine"},
		{"http://other.ship:8080", gradeWrong, "192.0.2.77"},
		{"http://192.0.2.6", gradeWrong, "none of this machine's addresses"},
		{"http://nowhere.ship", gradeWrong, "is not found"},
		{"http://127.0.0.1:8080", gradeLook, "no phone reaches it"},
		{"http://[::1]:8080", gradeLook, "no phone reaches it"},
		{"stillwatch.ship:8080", gradeWrong, "not an address"},
		{"ftp://stillwatch.ship", gradeWrong, "not an address"},
		{"http://stillwatch.ship/board", gradeWrong, "more than a name"},
	} {
		d := doctorFor(t.TempDir())
		d.url = tc.url
		d.lookAtAddress(t.Context())
		d.expect(t, "address", tc.want, tc.says)
	}
}

func TestDoctorTellsUntilWhenCertificatesHold(t *testing.T) {
	dir := t.TempDir()
	d := doctorFor(dir)
	d.lookAtCertificates()
	d.expect(t, "certificates", gradeOK, "no authority")
	if _, err := authority.Make(line.AuthorityFolder(dir), []string{"stillwatch.ship"}, noon); err != nil {
		t.Fatal(err)
	}
	for after, want := range map[time.Duration]grade{time.Hour: gradeOK, (3650 - 30) * 24 * time.Hour: gradeLook,
		3651 * 24 * time.Hour: gradeWrong} {
		d := doctorFor(dir)
		d.now = noon.Add(after)
		d.lookAtCertificates()
		d.expect(t, "certificates", want, "authority")
	}
	d = doctorFor(dir)
	d.url = "https://stillwatch.ship"
	d.lookAtAddress(t.Context())
	d.expect(t, "certificates", gradeOK, "can vouch")
	d = doctorFor(dir)
	d.url = "https://192.0.2.5"
	d.lookAtAddress(t.Context())
	d.expect(t, "certificates", gradeWrong, "not made for")
}

func TestDoctorFindsTheNewestCopy(t *testing.T) {
	dir, _ := patientAt(t, noon)
	shelf := t.TempDir()
	if _, err := register.Backup(t.Context(), dir, filepath.Join(shelf, "november.db"), noon); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(shelf, "notes.txt"), []byte("not a copy"), 0o600); err != nil {
		t.Fatal(err)
	}
	for old, want := range map[time.Duration]grade{time.Hour: gradeOK, 8 * 24 * time.Hour: gradeLook} {
		d := doctorFor(dir)
		d.backups = shelf
		if err := os.Chtimes(filepath.Join(shelf, "november.db"), d.now, d.now.Add(-old)); err != nil {
			t.Fatal(err)
		}
		d.lookAtCopies()
		d.expect(t, "copies", want, "november.db")
	}
	d := doctorFor(dir)
	d.backups = dir // the register itself is no copy of itself
	d.lookAtCopies()
	d.expect(t, "copies", gradeLook, "there is none")
}

func TestDoctorTellsWhatTheShoreSaid(t *testing.T) {
	dir, _ := patientAt(t, noon)
	for _, c := range []struct {
		said string
		want []finding
	}{
		{"", nil},
		{`{"shore":"https://a","ship":"North Example","size":7,"at":"2026-11-25T12:00:00Z"}`, []finding{{grade: gradeOK}}},
		{`{"shore":"https://a","ship":"North Example","size":7,"at":"2026-09-25T12:00:00Z"}`, []finding{{grade: gradeLook}}},
		{`{"shore":"https://a","size":7,"words":"The register is older than it was."}`, []finding{{grade: gradeWrong}}},
		{`{`, []finding{{grade: gradeLook}}},
	} {
		if c.said != "" {
			if err := os.WriteFile(filepath.Join(dir, "shore.json"), []byte(c.said), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		d := doctorFor(dir)
		d.lookAtShore()
		if len(d.found) != len(c.want) || len(c.want) == 1 && d.found[0].grade != c.want[0].grade {
			t.Errorf("the shore said %q: found %+v", c.said, d.found)
		}
	}
}

func TestDoctorCommandGivesAStatus(t *testing.T) {
	var out, errOut strings.Builder
	nowhere := filepath.Join(t.TempDir(), "nowhere")
	if status := line.Run(Command(), []string{"--data", nowhere}, &out, &errOut); status != 1 ||
		!strings.Contains(out.String(), "wrong  data folder") {
		t.Errorf("doctor of no folder = %d with\n%s%s\nwant 1 and a line that says so", status, out.String(), errOut.String())
	}
	if status := line.Run(Command(), []string{"--nonsense"}, &out, &errOut); status != 1 {
		t.Errorf("doctor --nonsense = %d, want 1", status)
	}
}

func TestSizesAndAgesAreWordsThatPeopleUse(t *testing.T) {
	for n, want := range map[uint64]string{0: "0 KiB", 1: "1 KiB", 3 << 20: "3 MiB", 5 << 30: "5.0 GiB"} {
		if got := bytesInWords(n); got != want {
			t.Errorf("bytesInWords(%d) = %s, want %s", n, got, want)
		}
	}
	for d, want := range map[time.Duration]string{-time.Hour: "0 min", 90 * time.Minute: "90 min", 5 * time.Hour: "5 h",
		100 * time.Hour: "4 days"} {
		if got := age(d); got != want {
			t.Errorf("age(%v) = %s, want %s", d, got, want)
		}
	}
}

func TestDoctorDoesNotKeepPeopleWaitingForALongLog(t *testing.T) {
	dir, _ := patientAt(t, noon)
	d := doctorFor(dir)
	d.verifyUpTo = 2
	d.examine(t.Context())
	d.expect(t, "register", gradeLook, "it can be read: 4 entries")
	d.expect(t, "last entry", gradeOK, "not behind")
}
