package web

import (
	"bufio"
	"context"
	"fmt"
	"io"
	"net/http"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
)

// The boards that are open at once, and the acts that are made while they are.
const (
	manyBoards = 100
	boardActs  = 20
)

var sizeOnBoard = regexp.MustCompile(`data-size="(\d+)"`)

// followBoard does what the script of a board screen does: it listens, fetches the board when the log has grown, and
// tells which size it shows.
func followBoard(ctx context.Context, c *browser, shows func(size int64)) error {
	ask := func(path string) (*http.Response, error) {
		req, err := http.NewRequestWithContext(ctx, http.MethodGet, c.a.http.URL+path, nil)
		if err != nil {
			return nil, err
		}
		return c.http.Do(req)
	}
	events, err := ask("/screen/events")
	if err != nil {
		return err
	}
	defer events.Body.Close()
	var shown int64
	for lines := bufio.NewScanner(events.Body); lines.Scan(); {
		told, is := strings.CutPrefix(lines.Text(), "data: ")
		if !is || told == strconv.FormatInt(shown, 10) {
			continue
		}
		answer, err := ask("/screen/now")
		if err != nil {
			return err
		}
		body, err := io.ReadAll(answer.Body)
		answer.Body.Close()
		found := sizeOnBoard.FindSubmatch(body)
		if err != nil || found == nil {
			return fmt.Errorf("the board has no size, status %d, %v", answer.StatusCode, err)
		}
		shown, _ = strconv.ParseInt(string(found[1]), 10, 64)
		shows(shown)
	}
	return nil
}

// TestHundredBoardsFollowEveryAct has a hundred board screens open, each on a line of its own, and one more in a real
// browser, makes acts one after another, and wants each on every board before the next. With -v it says how long that
// took, from before the act was sent.
func TestHundredBoardsFollowEveryAct(t *testing.T) {
	j := begin(t)
	ctx, cancel := context.WithCancel(t.Context())
	var open sync.WaitGroup
	shown := make(chan int64, manyBoards*(boardActs+10))
	for i := range manyBoards {
		screen := j.a.hangScreen(fmt.Sprintf("Screen %c%c", 'A'+i/26, 'A'+i%26))
		open.Add(1)
		go func() {
			defer open.Done()
			if err := followBoard(ctx, screen, func(size int64) { shown <- size }); err != nil && ctx.Err() == nil {
				t.Error(err)
			}
			screen.http.CloseIdleConnections()
		}()
	}
	defer func() { cancel(); open.Wait() }()
	w := openWindow(t)
	w.signsIn(j.a.http.URL, "oow")
	w.do(chromedp.Navigate(j.a.http.URL + "/screen"))
	w.until("the browser's board is live", `document.querySelector("[data-bs-state]").textContent === "up to date"`)
	w.is(`(window.seen = {}, document.addEventListener("board:renewed", () => { seen[document.querySelector("[data-board]").dataset.size] = Date.now(); }), true)`)

	var all, painted []float64
	for act := range boardActs {
		began := time.Now()
		j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", fmt.Sprintf("Seal, once more: %d", act)),
			fmt.Sprintf("/permits/%d", act+2))
		size := j.a.reg.Head().Size
		for n := 0; n < manyBoards; {
			select {
			case got := <-shown:
				if got >= size {
					n++
					all = append(all, float64(time.Since(began).Microseconds())/1000)
				}
			case <-time.After(20 * time.Second):
				t.Fatalf("act %d stands on %d boards after 20 s, want %d", act, n, manyBoards)
			}
		}
		seen := fmt.Sprintf("window.seen[%d]", size)
		w.until("the act stands on the browser's board", seen+" > 0")
		at, err := chromedp.Run(w.ctx, chromedp.Evaluate[float64](seen))
		if err != nil {
			t.Fatal(err)
		}
		painted = append(painted, at-float64(began.UnixMilli()))
	}
	slices.Sort(all)
	slices.Sort(painted)
	t.Logf("%d boards, %d acts, ms from before the act was sent: p50 %.0f, p99 %.0f, the last %.0f; in the browser p50 "+
		"%.0f, the last %.0f", manyBoards, boardActs, all[len(all)/2], all[len(all)*99/100], all[len(all)-1],
		painted[len(painted)/2], painted[len(painted)-1])
}
