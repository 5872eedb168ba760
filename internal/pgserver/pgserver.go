//go:build unix

// Package pgserver runs a PostgreSQL server of its own for tests, with its data
// in a folder that goes when it stops. It is for tests only.
package pgserver

import (
	"bytes"
	"context"
	"database/sql"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	"os/user"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	_ "github.com/jackc/pgx/v5/stdlib" // the driver "pgx"
)

// A Server is a PostgreSQL of our own, with its data in a folder of its own,
// on a port that was free. It ends when its standard input closes, so that it
// never outlives the test, however that ends.
type Server struct {
	dir, port string
	cmd       *exec.Cmd
	stdin     io.Closer
	log       bytes.Buffer
	made      int
}

// Database makes an empty database and returns its address.
func (s *Server) Database(tb testing.TB) string {
	tb.Helper()
	s.made++
	name := fmt.Sprintf("t%d", s.made)
	db, err := sql.Open("pgx", s.address("postgres"))
	if err != nil {
		tb.Fatal(err)
	}
	defer db.Close()
	if _, err := db.ExecContext(context.Background(), "CREATE DATABASE "+name+" TEMPLATE template0 ENCODING 'UTF8'"); err != nil {
		tb.Fatal(err)
	}
	return s.address(name)
}

func (s *Server) address(database string) string {
	return "postgres://meniscus@127.0.0.1:" + s.port + "/" + database + "?sslmode=disable"
}

// Start starts a server. Without PostgreSQL it is an error that names the Debian
// package.
func Start() (*Server, error) {
	found, err := filepath.Glob("/usr/lib/postgresql/*/bin/initdb")
	if err != nil || len(found) == 0 {
		return nil, fmt.Errorf("no PostgreSQL to test with: install the Debian package postgresql (.ci/run does; looked for /usr/lib/postgresql/*/bin/initdb)")
	}
	bin := filepath.Dir(found[len(found)-1])
	dir, err := os.MkdirTemp("", "meniscus-postgres-")
	if err != nil {
		return nil, err
	}
	s := &Server{dir: dir}
	if s.port, err = freePort(); err != nil {
		return nil, err
	}
	prefix, err := s.handOver()
	if err != nil {
		return nil, err
	}
	data := filepath.Join(dir, "data")
	initdb := exec.Command(prefix[0], append(prefix[1:], filepath.Join(bin, "initdb"), "-D", data, "-U", "meniscus", "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8")...)
	initdb.Dir = dir
	if out, err := initdb.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w\n%s", err, out)
	}
	script := `"$@" & pid=$!; cat >/dev/null; kill -INT $pid; wait $pid`
	s.cmd = exec.Command(prefix[0], append(prefix[1:], "sh", "-c", script, "sh", filepath.Join(bin, "postgres"), "-D", data,
		"-p", s.port, "-k", dir, "-c", "listen_addresses=127.0.0.1")...)
	s.cmd.Dir, s.cmd.Stdout, s.cmd.Stderr = dir, &s.log, &s.log
	if s.stdin, err = s.cmd.StdinPipe(); err != nil {
		return nil, err
	}
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	return s, s.await()
}

// handOver gives the folder to the user that the server runs as, and returns
// how to become that user: initdb refuses root.
func (s *Server) handOver() ([]string, error) {
	if os.Getuid() != 0 {
		return []string{"env"}, nil
	}
	u, err := user.Lookup("postgres")
	if err != nil {
		return nil, fmt.Errorf("PostgreSQL does not run as root: %w; install the Debian package postgresql, which makes that user", err)
	}
	uid, err := strconv.Atoi(u.Uid)
	if err != nil {
		return nil, err
	}
	gid, err := strconv.Atoi(u.Gid)
	if err != nil {
		return nil, err
	}
	return []string{"setpriv", "--reuid=" + u.Uid, "--regid=" + u.Gid, "--clear-groups"}, os.Chown(s.dir, uid, gid)
}

func freePort() (string, error) {
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		return "", err
	}
	_, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return "", err
	}
	return port, l.Close()
}

func (s *Server) await() error {
	db, err := sql.Open("pgx", s.address("postgres"))
	if err != nil {
		return err
	}
	defer db.Close()
	for range 600 {
		if err = db.PingContext(context.Background()); err == nil {
			return nil
		}
		time.Sleep(100 * time.Millisecond)
	}
	return fmt.Errorf("PostgreSQL does not answer: %w\n%s", err, s.log.String())
}

// Stop ends the server and removes its data. A nil Server has nothing to stop.
func (s *Server) Stop() error {
	if s == nil || s.cmd == nil {
		return nil
	}
	if err := s.stdin.Close(); err != nil {
		return err
	}
	if err := s.cmd.Wait(); err != nil {
		return fmt.Errorf("PostgreSQL: %w\n%s", err, s.log.String())
	}
	return os.RemoveAll(s.dir)
}
