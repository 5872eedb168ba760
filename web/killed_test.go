//go:build unix

package web_test

import (
	"bufio"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"meniscus/store"
	"meniscus/web"
)

func TestMain(m *testing.M) {
	if target := os.Getenv("WEB_TEST_STORE"); target != "" {
		fmt.Fprintln(os.Stderr, serveStore(target))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// serveStore is a bench in a process of its own, until it is killed.
func serveStore(target string) error {
	s, err := store.Open(context.Background(), target, time.Now)
	if err != nil {
		return err
	}
	h, err := web.New(web.Options{Loopback: true, Store: s})
	if err != nil {
		return err
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return err
	}
	if limit := os.Getenv("WEB_TEST_FILE_LIMIT"); limit != "" {
		if err := limitFiles(limit); err != nil {
			return err
		}
	}
	fmt.Println("http://" + l.Addr().String())
	return http.Serve(l, h)
}

// A bench is killed 50 times while readings are entered, at a moment of its own
// each time. Every reading that was answered is there, and none twice.
func TestKilledDuringEntry(t *testing.T) {
	s := aStore(t)
	record := blankRecord(t, s)
	answered, last := 0, int64(0)
	for range 50 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), "WEB_TEST_STORE="+s.Target())
		out, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		lines := bufio.NewScanner(out)
		if !lines.Scan() {
			t.Fatal("the bench did not start")
		}
		stop := 1 + rand.IntN(6)
		for n := 0; ; n++ {
			if n == stop {
				go func() {
					time.Sleep(time.Duration(rand.IntN(4000)) * time.Microsecond)
					cmd.Process.Kill()
				}()
			}
			now, ok := enterOne(lines.Text(), record, last, answered)
			if !ok {
				break
			}
			if now.Last > last {
				last = now.Last
			}
			answered++
		}
		if err := cmd.Wait(); err == nil || !strings.Contains(err.Error(), "killed") {
			t.Fatalf("the bench ended with %v", err)
		}
		// As the page does after a lost answer: what is there is not sent again.
		d, err := s.Determination(t.Context(), record)
		if err != nil {
			t.Fatal(err)
		}
		if len(d.Runs) == 1 && len(d.Runs[0].Readings) == answered+1 {
			answered++
			last = d.Runs[0].Last
		}
	}
	d, err := s.Determination(t.Context(), record)
	if err != nil || len(d.Runs) != 1 {
		t.Fatalf("%d runs, %v", len(d.Runs), err)
	}
	for i, q := range d.Runs[0].Readings {
		if q.Volume != fmt.Sprint(i) {
			t.Fatalf("reading %d is at %s mL", i, q.Volume)
		}
	}
	if got := len(d.Runs[0].Readings); got != answered || answered < 50 {
		t.Errorf("%d readings were answered, %d are there", answered, got)
	}
}

func enterOne(address, record string, last int64, n int) (now struct{ Last int64 }, ok bool) {
	body := fmt.Sprintf(`{"author":"R. Kessler","last":%d,"readings":[{"volume":"%d","value":"400"}]}`, last, n)
	r, err := http.Post(address+"/api/records/"+record+"/runs/0/readings", "application/json", strings.NewReader(body))
	if err != nil {
		return now, false
	}
	defer r.Body.Close()
	text, err := io.ReadAll(r.Body)
	if err != nil || r.StatusCode != http.StatusOK {
		return now, false
	}
	return now, json.Unmarshal(text, &now) == nil
}
