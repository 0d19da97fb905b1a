//go:build unix

package main

import (
	"os"
	"os/signal"
	"syscall"
)

// onAsk calls answer at every SIGUSR1 until the returned func is called.
func onAsk(answer func()) (stop func()) {
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, syscall.SIGUSR1)
	over := make(chan struct{})
	go func() {
		for {
			select {
			case <-asked:
				answer()
			case <-over:
				return
			}
		}
	}()
	return func() {
		signal.Stop(asked)
		close(over)
	}
}
