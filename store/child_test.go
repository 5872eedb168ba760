//go:build unix

package store

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"
)

// child is what the test binary does when it is started again as a process of
// its own, and returns its exit status.
func child(job string) int {
	work := map[string]func(context.Context, *Store, string) error{"append": appendForever, "limit": appendToLimit}[job]
	ctx := context.Background()
	s, err := Open(ctx, os.Getenv("STORE_TEST_TARGET"), time.Now)
	if err == nil {
		err = work(ctx, s, os.Getenv("STORE_TEST_RECORD"))
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		return 1
	}
	return 0
}

// appendOne keeps a reading and says so only after Append has returned.
func appendOne(ctx context.Context, s *Store, record, pad string) error {
	rows, err := s.Append(ctx, record, 1, rk, Entry{Volume: "1", Value: pad})
	if err != nil {
		return err
	}
	fmt.Printf("kept %d\n", rows[0].No)
	return nil
}

func appendForever(ctx context.Context, s *Store, record string) error {
	for {
		if err := appendOne(ctx, s, record, "430"); err != nil {
			return err
		}
	}
}

// appendToLimit meets a file that may not grow, has the limit lifted, and goes on.
func appendToLimit(ctx context.Context, s *Store, record string) error {
	signal.Ignore(syscall.SIGXFSZ)
	var was syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return err
	}
	limit := was
	limit.Cur = 400 << 10
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &limit); err != nil {
		return err
	}
	pad := strings.Repeat("4", 1500)
	var err error
	for range 2000 {
		if err = appendOne(ctx, s, record, pad); err != nil {
			break
		}
	}
	if !errors.As(err, new(*FullError)) {
		return fmt.Errorf("at the limit: %w, want a FullError", err)
	}
	if err := syscall.Setrlimit(syscall.RLIMIT_FSIZE, &was); err != nil {
		return err
	}
	fmt.Println("lifted")
	for range 3 {
		if err := appendOne(ctx, s, record, pad); err != nil {
			return err
		}
	}
	return nil
}
