package main

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"strconv"
	"time"

	"github.com/spf13/cobra"

	"rollonset/report/archive"
)

func newServe() *cobra.Command {
	port := 0
	cmd := &cobra.Command{
		Use:   "serve ARCHIVE",
		Short: "Show the pages on this computer, with forms to review events",
		Long: `serve shows the pages of an archive in a browser on this computer, with a form at
each event to review it. Nobody else can reach it: it listens on 127.0.0.1 only,
and the address that it prints holds a secret that is asked for once. It writes
nothing but reviews, and may run while process does. Ctrl-C ends it.

` + archive.Caution + "\n\n" + exitWords,
		Args: exactly(1, "one archive"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if port < 0 || port > 65535 {
				return usagef("--port %d: choose one from 1 to 65535, or 0 for any that is free", port)
			}
			return serve(cmd.Context(), cmd.OutOrStdout(), args[0], port)
		},
	}
	cmd.Flags().IntVar(&port, "port", 0, "port to listen on; 0 takes one that is free")
	return cmd
}

// tokenBytes is the length of the secret: too long to be guessed by a program
// on this computer.
const tokenBytes = 32

func serve(ctx context.Context, w io.Writer, dir string, port int) error {
	a, err := archive.Open(dir)
	if err != nil {
		return err
	}
	secret := make([]byte, tokenBytes)
	if _, err := io.ReadFull(rand.Reader, secret); err != nil {
		return fmt.Errorf("make the secret of the address: %w", err)
	}
	listener, err := net.Listen("tcp", net.JoinHostPort("127.0.0.1", strconv.Itoa(port)))
	if err != nil {
		return fmt.Errorf("listen on port %d: %w; choose another with --port", port, err)
	}
	s := newServer(a, hex.EncodeToString(secret), listener.Addr().String(), time.Now)
	if _, err := fmt.Fprintf(w, "Open %s in the browser of this computer; Ctrl-C ends it.\n", s.address()); err != nil {
		return errors.Join(err, listener.Close())
	}
	return s.run(ctx, listener)
}

// Times after which a connection that does nothing is given up.
const (
	headerTime = 5 * time.Second
	wholeTime  = 60 * time.Second
	endTime    = 3 * time.Second
)

// run serves until the context ends; that is no error.
func (s *server) run(ctx context.Context, listener net.Listener) error {
	h := &http.Server{Handler: s, ReadHeaderTimeout: headerTime, ReadTimeout: wholeTime, WriteTimeout: wholeTime, MaxHeaderBytes: 1 << 14}
	ended := make(chan error, 1)
	go func() { ended <- h.Serve(listener) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	end, cancel := context.WithTimeout(context.WithoutCancel(ctx), endTime)
	defer cancel()
	// A browser opens connections ahead of use, and for those Shutdown waits
	// longer than a person does; that they are cut is no failure.
	if err := h.Shutdown(end); err != nil && !errors.Is(err, context.DeadlineExceeded) {
		return errors.Join(err, h.Close())
	}
	return h.Close()
}
