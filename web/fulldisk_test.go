//go:build unix

package web_test

import (
	"bufio"
	"net/http/httputil"
	"net/url"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"syscall"
	"testing"

	"meniscus/internal/browser"
)

// limitFiles lets no file grow beyond so many bytes, until the process is sent
// SIGUSR1: a disk that is full, and has room again.
func limitFiles(bytes string) error {
	most, err := strconv.ParseUint(bytes, 10, 64)
	if err != nil {
		return err
	}
	signal.Ignore(syscall.SIGXFSZ)
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return err
	}
	limit := was
	limit.Cur = most
	room := make(chan os.Signal, 1)
	signal.Notify(room, syscall.SIGUSR1)
	go func() {
		<-room
		_ = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was) // the page shows whether it did
	}()
	return syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit)
}

// A disk that fills up during entry: the reading that found no room gets no
// tick, the page says why, and keeps it; once there is room it is kept, once.
// Whatever had a tick is there.
func TestFullDiskInTheBrowser(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "WEB_TEST_STORE="+s.Target(), "WEB_TEST_FILE_LIMIT=400000")
	out, err := cmd.StdoutPipe()
	if err == nil {
		err = cmd.Start()
	}
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		_ = cmd.Process.Kill() // it may have ended
		_ = cmd.Wait()         // killed is what it says
	})
	lines := bufio.NewScanner(out)
	if !lines.Scan() {
		t.Fatal("the bench did not start")
	}
	child, err := url.Parse(lines.Text())
	if err != nil {
		t.Fatal(err)
	}
	ctx, _ := readingPage(t, browser.Desktop, httputil.NewSingleHostReverseProxy(child), record)
	wait := waiter(t, ctx)
	typeReading(t, ctx, "1.50", "405.7")
	wait("the tick", ticks+` === 1`)

	// Others write until there is no room.
	other := blankRecord(t, s)
	last := int64(0)
	for n := range 5000 {
		now, ok := enterOne(lines.Text(), other, last, n)
		if !ok {
			break
		}
		last = now.Last
	}
	typeReading(t, ctx, "3.00", "425.4")
	wait("the reason", `document.getElementById("problem").textContent.includes("no room")`)
	wait("no tick", ticks+` === 1 && document.body.textContent.includes("425.4")`)

	if err := cmd.Process.Signal(syscall.SIGUSR1); err != nil {
		t.Fatal(err)
	}
	wait("the tick, when there is room", ticks+` === 2 && document.getElementById("problem").textContent === ""`)
	if got := typedRows(t, s, record); got != "1.50:405.7 3.00:425.4 " {
		t.Errorf("kept %q", got)
	}
}
