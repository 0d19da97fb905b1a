package main

import (
	"os"
	"runtime/debug"
)

// The bound of a batch is 64 MiB and 16 MiB for each worker, resident. What the
// runtime manages may take this much of it; the rest is the program itself,
// stacks and what the system counts beside. A base below this costs time, one above
// it gains none: recordings use the room of those before.
const (
	heapBase      = 32 << 20
	heapPerWorker = 16 << 20
	// heapPerRecording is the most that a run keeps of each recording until it
	// ends: its line in the record, its tally, its row on the page of the night.
	heapPerRecording = 8 << 10
)

// boundMemory trades the memory that the bound allows for fewer collections:
// the heap is collected when it reaches its limit and not before, because a
// recording's samples are garbage all at once. So a run over ten recordings
// takes as much as one over a thousand, of which the rows fit into half of the
// base. What a run over more keeps goes on top: a limit below what is alive
// would have the processors do nothing but collect. The limit is soft: a
// recording that needs more gets it, and costs more collections. What the
// environment sets for the runtime stands.
func boundMemory(workers, recordings int) {
	if os.Getenv("GOGC") != "" || os.Getenv("GOMEMLIMIT") != "" {
		return
	}
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(int64(heapPerWorker*workers + max(heapBase, heapBase/2+heapPerRecording*recordings)))
}
