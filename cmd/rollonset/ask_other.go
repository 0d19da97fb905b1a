//go:build !unix

package main

// onAsk does nothing where there is no signal to ask with.
func onAsk(func()) (stop func()) { return func() {} }
