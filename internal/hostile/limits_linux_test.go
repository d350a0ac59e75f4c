package hostile

import (
	"fmt"
	"os"
	"strconv"
	"strings"
)

// mostResident is the most that the process has held in memory so far, in MB: the
// high-water mark of proc_pid_status(5), which begins anew with the program. What
// getrusage(2) tells of a child begins with what its parent held.
func mostResident(pid int) int {
	data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(data), "VmHWM:")
	words := strings.Fields(rest)
	if len(words) == 0 {
		return 0
	}
	kilobytes, _ := strconv.Atoi(words[0])
	return kilobytes * 1024 / 1e6
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
