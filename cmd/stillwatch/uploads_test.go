//go:build linux

package main

import (
	"bufio"
	"bytes"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
)

// Uploads that come by halves: how many, how much of each is sent, and what the program may hold then.
const (
	halfUploads   = 400
	halfOfUpload  = 4 << 20
	wholeUpload   = 8 << 20
	mostResident  = 300 // MB
	answersWithin = 10 * time.Second
)

// TestUploadsSentByHalvesFillNoMemory lets the chief engineer's device, and one on which nobody is signed in, begin 400
// uploads of a plant file each, send half and wait. The program itself, built as everybody builds it, goes on answering
// and holds no more than 300 MB.
func TestUploadsSentByHalvesFillNoMemory(t *testing.T) {
	program := buildProgram(t)
	s := &served{cmd: exec.Command(program, "serve", "--data", mannedFolder(t), "--listen", "127.0.0.1:0")}
	s.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL}
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.cmd.Process.Kill(); _ = s.cmd.Wait() })
	first, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the program said nothing: %v", err)
	}
	s.base = addressIn(strings.TrimSpace(first))
	at, err := url.Parse(s.base)
	if err != nil {
		t.Fatal(err)
	}
	chief := s.signIn(t)
	var cookies []string
	for _, c := range chief.http.Jar.Cookies(at) {
		cookies = append(cookies, c.Name+"="+c.Value)
	}
	before := residentMB(t, s.cmd.Process.Pid)
	var all sync.WaitGroup
	for i := range halfUploads {
		cookie := strings.Join(cookies, "; ")
		if i%2 == 1 {
			cookie = "" // nobody is signed in there
		}
		all.Go(func() { halfAnUpload(t, at.Host, cookie) })
	}
	all.Wait() // each is answered, or has sent its half and waits
	began := time.Now()
	resp, err := (&http.Client{Timeout: answersWithin}).Get(s.base + "/healthz")
	if err != nil || resp.StatusCode != http.StatusOK {
		t.Fatalf("meanwhile /healthz = %v, %v", resp, err)
	}
	_ = resp.Body.Close()
	if status, err := chief.post("/palette", url.Values{"palette": {"night"}}); err != nil ||
		status != http.StatusSeeOther {
		t.Errorf("meanwhile a form = %d, %v, want taken", status, err)
	}
	held := residentMB(t, s.cmd.Process.Pid)
	t.Logf("%d uploads by halves: %.0f MB resident before, %.0f MB with them; answered in %v", halfUploads, before, held,
		time.Since(began).Round(time.Millisecond))
	if held > mostResident {
		t.Errorf("the program holds %.0f MB, %d at most", held, mostResident)
	}
}

// halfAnUpload sends the head of an upload and half of its body; the connection stays open until the test ends.
func halfAnUpload(t *testing.T, host, cookie string) {
	conn, err := net.DialTimeout("tcp", host, answersWithin)
	if err != nil {
		t.Errorf("dial = %v", err)
		return
	}
	t.Cleanup(func() { _ = conn.Close() })
	_ = conn.SetWriteDeadline(time.Now().Add(answersWithin))
	part := "--b\r\nContent-Disposition: form-data; name=\"file\"; filename=\"plant.yaml\"\r\n\r\n"
	head := fmt.Sprintf("POST /plant HTTP/1.1\r\nHost: %s\r\nOrigin: http://%s\r\nCookie: %s\r\n"+
		"Content-Type: multipart/form-data; boundary=b\r\nContent-Length: %d\r\n\r\n%s", host, host, cookie, wholeUpload,
		part)
	if _, err := conn.Write([]byte(head)); err != nil {
		t.Errorf("send the head = %v", err)
		return
	}
	chunk := bytes.Repeat([]byte("# nothing but a remark\n"), 2048)
	for sent := 0; sent < halfOfUpload; sent += len(chunk) {
		if _, err := conn.Write(chunk); err != nil {
			return // it was answered and cut off, or is not read
		}
	}
}

// residentMB returns what a process holds in memory.
func residentMB(t *testing.T, pid int) float64 {
	t.Helper()
	text, err := os.ReadFile(fmt.Sprint("/proc/", pid, "/status"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, _ := strings.Cut(string(text), "VmRSS:")
	kb, _, _ := strings.Cut(strings.TrimSpace(rest), " ")
	n, err := strconv.ParseFloat(kb, 64)
	if err != nil {
		t.Fatalf("the system does not tell what process %d holds: %v", pid, err)
	}
	return n / 1024
}
