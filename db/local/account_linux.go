package local

import "syscall"

// overflow is the id that Linux shows for whoever is unknown, in nobody's way inside a namespace of our own.
const overflow = 65534

// namespaced is root in a user namespace where it goes by another number: the server sees no root, and the files stay
// root's. Containers often forbid it, so it comes last.
func namespaced() []account {
	attr := newSession()
	attr.Cloneflags = syscall.CLONE_NEWUSER
	// Inside, the server is the overflow id; outside, its files and its socket are root's.
	attr.UidMappings = []syscall.SysProcIDMap{{ContainerID: overflow, HostID: 0, Size: 1}}
	attr.GidMappings = attr.UidMappings
	return []account{{name: "root in a user namespace", attr: attr}}
}
