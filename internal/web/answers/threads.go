package answers

// spareThreads are the threads for entries beside those that simulate: judgement; with
// 8 the 95th percentile of an entry was 0.6 s where it had been 25 s (docs/scale.md).
const spareThreads = 8

// Threads is how many threads a process should run that answers jobs and takes
// entries on so many cores. With as many as there are cores, a request waits each
// time it is woken until engines being simulated give up their thread, 10 ms each.
// With more, the operating system wakes it at once, because it has slept most.
func Threads(cores int) int { return cores + spareThreads }
