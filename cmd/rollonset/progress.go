package main

import (
	"fmt"
	"io"
	"log/slog"
	"maps"
	"os"
	"slices"
	"sync"
	"time"

	"golang.org/x/term"

	"rollonset/cmd/internal/batch"
)

// progress shows how far the batch is: a line that is rewritten on a
// terminal, a log line every ten seconds elsewhere.
type progress struct {
	out      io.Writer
	terminal bool
	log      *slog.Logger
	total    int
	done     int
	bad      int
	last     time.Time
	working  map[string]time.Time // recordings in work and since when
	mu       sync.Mutex
	stop     func()
	closed   bool
}

func newProgress(out io.Writer, total int) *progress {
	p := &progress{out: out, terminal: isTerminal(out), total: total, last: time.Now(), log: slog.New(slog.NewTextHandler(out, nil)), working: map[string]time.Time{}}
	p.stop = onAsk(p.where)
	return p
}

// where logs what is in work; a person asks for it with a signal.
func (p *progress) where() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.log.Info("asked where it is", "done", p.done, "of", p.total, "unreadable", p.bad)
	for _, path := range slices.Sorted(maps.Keys(p.working)) {
		p.log.Info("in work", "recording", path, "for", time.Since(p.working[path]).Round(time.Millisecond))
	}
}

func (p *progress) observer() batch.Observer {
	return batch.Observer{Started: func(path string) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.working[path] = time.Now()
	}, Finished: func(r batch.Result) {
		p.mu.Lock()
		defer p.mu.Unlock()
		p.done++
		delete(p.working, r.File)
		if r.Status == batch.Unreadable {
			p.bad++
		}
		switch {
		case p.terminal:
			fmt.Fprintf(p.out, "\r%d of %d recordings, %d unreadable ", p.done, p.total, p.bad)
		case time.Since(p.last) >= 10*time.Second:
			p.last = time.Now()
			p.log.Info("processing", "done", p.done, "of", p.total, "unreadable", p.bad)
		}
	}}
}

// close ends the display; a second call does nothing.
func (p *progress) close() {
	if p.closed {
		return
	}
	p.closed = true
	p.stop()
	if p.terminal {
		fmt.Fprint(p.out, "\r\033[K")
	}
}

func isTerminal(w io.Writer) bool {
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}
