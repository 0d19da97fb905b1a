package main

import (
	"os"
	"runtime/debug"
)

// The bound of a batch is 64 MiB and 16 MiB for each worker, resident. What the
// runtime manages may take this much of it; the rest is the program itself,
// stacks and what the system counts beside.
const (
	heapBase      = 40 << 20
	heapPerWorker = 16 << 20
	// heapPerRecording is what a run keeps of each recording until it publishes:
	// its summary. A limit below what is alive would have the processors do
	// nothing but collect, as a run of 10,000 recordings did.
	heapPerRecording = 24 << 10
	// garbagePercent lets the heap grow to three times what is alive: a
	// recording's samples are garbage all at once, and collecting more often
	// finds little.
	garbagePercent = 200
)

// boundMemory trades the memory that the bound allows for fewer collections.
// The limit is soft: a recording that needs more gets it, and costs more
// collections. What the environment sets for the runtime stands.
func boundMemory(workers, recordings int) {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(garbagePercent)
	debug.SetMemoryLimit(int64(heapBase + heapPerWorker*workers + heapPerRecording*recordings))
}
