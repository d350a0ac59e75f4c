package hostile

import (
	"fmt"
	"os"
	"strconv"
	"strings"
	"syscall"
)

// residentNow is what the process holds in memory now, in MB.
func residentNow(pid int) int {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/statm", pid))
	if err != nil {
		return 0
	}
	words := strings.Fields(string(data))
	if len(words) < 2 {
		return 0
	}
	pages, _ := strconv.Atoi(words[1])
	return pages * os.Getpagesize() / 1e6
}

// processorSeconds is the processor time that the process has taken so far, as
// proc_pid_stat(5) tells it: fields 14 and 15, in ticks of a hundredth of a second.
func processorSeconds(pid int) float64 {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(data), ") ") // the name may hold spaces
	words := strings.Fields(rest)
	if len(words) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(words[11], 64)
	system, _ := strconv.ParseFloat(words[12], 64)
	return (user + system) / 100
}

// mostResident is the most that the process had in memory, in MB.
func mostResident(s *os.ProcessState) int {
	usage, ok := s.SysUsage().(*syscall.Rusage)
	if !ok {
		return 0
	}
	return int(usage.Maxrss * 1024 / 1e6)
}
