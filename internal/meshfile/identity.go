package meshfile

import (
	"io/fs"
	"time"

	"cardback/internal/store"
)

// identity is what the system says of a file. Whoever writes into a file, or puts another
// in its place, gives it another identity: the time of the last change (ctime) is the
// system's own, and no program sets it back as it may set the time of modification.
//
// A file system that keeps no such time (FAT) repeats the time of modification there.
// On it a file that is written anew with the same size, and its time then set back, is
// taken for what it was.
type identity struct {
	Device, Inode     uint64
	Size              int64
	Modified, Changed int64 // ns since 1970
}

// grain is the longest step in which a file system counts time: FAT's is 2 s. Others
// count in ticks of 10 ms or less.
const grain = 2 * time.Second

// settled reports whether a change after began gives the file another identity. Within
// one step of the file system's clock two changes have the same time; so a file that was
// changed less than a step before began may be changed again and look the same. The file
// system's clock is taken to be this computer's, or not behind it by more than the step
// less its own tick.
func (id identity) settled(began time.Time) bool {
	return time.Unix(0, id.Changed).Add(grain).Before(began)
}

// seen is what the store keeps of a file that was hashed.
type seen struct {
	Identity identity
	SHA256   string
}

// known is the SHA-256 of a file that was hashed when it had the identity that it has now.
func known(name string, now fs.FileInfo, st *store.Store) (sum string, ok bool) {
	id, ok := identityOf(now)
	if !ok {
		return "", false
	}
	var was seen
	if !st.Get(&was, "file", name) || was.Identity != id {
		return "", false
	}
	return was.SHA256, true
}

// remember keeps the SHA-256 of a file that was hashed from began on and had the same
// identity before and after. One that changed too short a time before is hashed again
// next time.
func remember(name string, before, after fs.FileInfo, began time.Time, sum string, st *store.Store) error {
	id, ok := identityOf(before)
	if !ok {
		return nil
	}
	if again, ok := identityOf(after); !ok || again != id || !id.settled(began) {
		return nil
	}
	return st.Put(seen{id, sum}, "file", name)
}
