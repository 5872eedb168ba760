package main

import (
	"context"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"runtime"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"meniscus/store"
	"meniscus/web"
)

// defaultListen is where the bench is found; a busy port moves on to the next.
const (
	defaultListen = "127.0.0.1:7480"
	portsTried    = 20
)

type serveOptions struct {
	listen       string
	database     string
	passwordFile string
	noBrowser    bool
}

func serveCommand(a *app) *cobra.Command {
	var opt serveOptions
	c := &cobra.Command{
		Use:   "serve",
		Short: "the bench in the browser",
		Long: "serve starts the bench and opens it in the browser, if there is one. It answers\nto this machine only and contacts no other. With --listen others on the network\n" +
			"can use it; it then asks everybody for a password, which --password-file holds\nor the terminal is asked for. Ctrl-C ends it.",
		Example: "  meniscus serve\n  meniscus serve --no-browser --listen 127.0.0.1:0\n  meniscus serve --listen 0.0.0.0:7480 --password-file password.txt",
		Args:    exactly(0, "serve"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
			defer stop()
			return a.serve(ctx, opt)
		},
	}
	c.Flags().StringVar(&opt.listen, "listen", "", "address and port, such as 0.0.0.0:7480 for the network (default "+defaultListen+")")
	c.Flags().StringVar(&opt.database, "database", "", "file, or postgres:// address, that keeps the records (default: a file in your data folder)")
	c.Flags().StringVar(&opt.passwordFile, "password-file", "", "file with the password for others on the network")
	c.Flags().BoolVar(&opt.noBrowser, "no-browser", false, "do not open a browser")
	return c
}

func (a *app) serve(ctx context.Context, opt serveOptions) error {
	l, err := a.listen(opt.listen)
	if err != nil {
		return err
	}
	defer l.Close()
	loopback := l.Addr().(*net.TCPAddr).IP.IsLoopback()
	if opt.database == "" {
		if opt.database, err = store.DefaultFile(); err != nil {
			return err
		}
	}
	records, err := store.Open(ctx, opt.database, time.Now)
	if err != nil {
		return err
	}
	defer records.Close()
	password, err := a.password(ctx, opt, loopback, records)
	if err != nil {
		return err
	}
	bench, err := web.New(web.Options{
		Loopback: loopback, Password: password, Store: records,
		Report: func(err error) { fmt.Fprintln(a.err, "meniscus:", err) },
	})
	if err != nil {
		return err
	}
	server := &http.Server{
		Handler: bench, ReadHeaderTimeout: 10 * time.Second, ReadTimeout: time.Minute,
		WriteTimeout: 2 * time.Minute, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 64 << 10,
	}
	ended := make(chan error, 1)
	go func() { ended <- server.Serve(l) }()
	address := "http://" + l.Addr().String() + "/"
	fmt.Fprintf(a.out, "the bench is at %s\nCtrl-C ends it\n", address)
	if !loopback {
		fmt.Fprintln(a.err, "warning: others on the network can reach the bench; what they send and the password travel unencrypted")
	}
	if !opt.noBrowser && loopback {
		openBrowser(address)
	}
	select {
	case err := <-ended:
		return fmt.Errorf("serving: %w", err)
	case <-ctx.Done():
	}
	last, cancel := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer cancel()
	if err := server.Shutdown(last); err != nil {
		server.Close()
	}
	return nil
}

// listen takes the address asked for, or the first free one from the default on.
func (a *app) listen(address string) (net.Listener, error) {
	if address != "" {
		if _, _, err := net.SplitHostPort(address); err != nil {
			return nil, misused("--listen %q: an address and a port are meant, such as 127.0.0.1:7480", address)
		}
		l, err := net.Listen("tcp", address)
		if err != nil {
			return nil, fmt.Errorf("listening at %s: %w", address, err)
		}
		return l, nil
	}
	host, port, _ := net.SplitHostPort(defaultListen)
	first, _ := strconv.Atoi(port)
	var err error
	for i := range portsTried {
		var l net.Listener
		if l, err = net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(first+i))); err == nil {
			if i > 0 {
				fmt.Fprintf(a.err, "port %d is taken, perhaps by another bench; using %d\n", first, first+i)
			}
			return l, nil
		}
	}
	return nil, fmt.Errorf("no port from %d to %d is free; name one with --listen: %w", first, first+portsTried-1, err)
}

// password is asked of others on the network; alone on this machine there is
// none unless a file gives one. The store keeps its hash for the next start.
func (a *app) password(ctx context.Context, opt serveOptions, loopback bool, records *store.Store) (*web.Password, error) {
	if opt.passwordFile != "" {
		data, err := a.readFile(opt.passwordFile, "the password")
		if err != nil {
			return nil, err
		}
		line, _, _ := strings.Cut(string(data), "\n")
		return keepPassword(ctx, strings.TrimRight(line, "\r"), records)
	}
	if loopback {
		return nil, nil
	}
	kept, ok, err := records.Setting(ctx, store.PasswordSetting)
	if err != nil {
		return nil, err
	}
	if ok {
		return web.ParsePassword(kept)
	}
	f, ok := a.in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return nil, misused("--listen lets others in, so a password is needed: --password-file FILE, or run it on a terminal, which asks for one")
	}
	fmt.Fprintf(a.err, "password for others on the network (%d characters or more): ", web.MinPassword)
	text, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(a.err)
	if err != nil {
		return nil, fmt.Errorf("reading the password: %w", err)
	}
	return keepPassword(ctx, string(text), records)
}

func keepPassword(ctx context.Context, text string, records *store.Store) (*web.Password, error) {
	p, err := web.NewPassword(text)
	if err != nil {
		return nil, err
	}
	return p, records.SetSetting(ctx, store.PasswordSetting, p.String())
}

// openBrowser opens the address where there is a screen and a browser, and does
// nothing else: the address stands on the terminal.
func openBrowser(address string) {
	var name string
	var args []string
	switch runtime.GOOS {
	case "windows":
		name, args = "rundll32", []string{"url.dll,FileProtocolHandler"}
	case "darwin":
		name = "open"
	default:
		if os.Getenv("DISPLAY") == "" && os.Getenv("WAYLAND_DISPLAY") == "" {
			return
		}
		name = "xdg-open"
	}
	path, err := exec.LookPath(name)
	if err != nil {
		return
	}
	cmd := exec.Command(path, append(args, address)...)
	if cmd.Start() == nil {
		go cmd.Wait()
	}
}
