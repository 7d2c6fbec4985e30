//go:build unix

package local

import (
	"fmt"
	"os"
	"runtime"
	"slices"
	"strconv"
	"strings"
)

// A distribution is how a server is installed on one. The package names and the releases with an old server are from
// memory. Where the server is too old, npm brings one that is not, see fetch.
type distribution struct {
	ids       []string // as in ID or ID_LIKE of os-release
	command   string   // installs the distribution's own version
	versioned string   // installs one major version, where packages have it in their name
	since     float64  // the first release whose own version is new enough
	older     string   // the command for releases before that
}

var distributions = []distribution{
	{[]string{"ubuntu"}, "apt-get install postgresql", "apt-get install postgresql-%d", 23.04, "apt-get install npm"},
	{[]string{"debian"}, "apt-get install postgresql", "apt-get install postgresql-%d", 12, "apt-get install npm"},
	{[]string{"amzn"}, "dnf install postgresql16-server", "dnf install postgresql%d-server", 0, ""},
	{[]string{"rhel", "centos", "rocky", "almalinux", "ol"}, "dnf install postgresql-server", "", 10, "dnf module install postgresql:16/server"},
	{[]string{"fedora"}, "dnf install postgresql-server", "", 0, ""},
	{[]string{"arch"}, "pacman -S postgresql", "", 0, ""},
	{[]string{"alpine"}, "apk add postgresql", "apk add postgresql%d", 0, ""},
	{[]string{"suse", "opensuse"}, "zypper install postgresql-server", "zypper install postgresql%d-server", 0, ""},
}

// installCommand is the one command that installs a server here, of the major version unless it is 0.
func (sys system) installCommand(major int) string {
	// Homebrew refuses to run as root, so no sudo.
	if runtime.GOOS == "darwin" {
		return fmt.Sprintf("brew install postgresql@%d", max(major, 17))
	}
	command := sys.linuxCommand(major)
	if command == "" {
		return "your system's package manager (package postgresql), or name a running server with --database URL"
	}
	if os.Geteuid() != 0 {
		return "sudo " + command
	}
	return command
}

func (sys system) linuxCommand(major int) string {
	release := sys.release()
	// ID_LIKE lists what it is derived from, the nearest first.
	for _, id := range append([]string{release["ID"]}, strings.Fields(release["ID_LIKE"])...) {
		for _, d := range distributions {
			if slices.Contains(d.ids, id) {
				return d.choose(major, id == release["ID"], release["VERSION_ID"])
			}
		}
	}
	return ""
}

// choose picks the command. The release number of a distribution that is merely like this one says nothing.
func (d distribution) choose(major int, itself bool, versionID string) string {
	if major != 0 && d.versioned != "" {
		return fmt.Sprintf(d.versioned, major)
	}
	version, err := strconv.ParseFloat(versionID, 64)
	if itself && err == nil && version < d.since {
		return d.older
	}
	return d.command
}

// release reads the first os-release file there is: lines of NAME=value, the value perhaps in quotes, as in
// https://www.freedesktop.org/software/systemd/man/latest/os-release.html
func (sys system) release() map[string]string {
	values := map[string]string{}
	for _, path := range sys.osRelease {
		text, err := os.ReadFile(path)
		if err != nil {
			continue
		}
		for line := range strings.Lines(string(text)) {
			if key, value, ok := strings.Cut(strings.TrimSpace(line), "="); ok {
				values[key] = strings.Trim(value, `"'`)
			}
		}
		break
	}
	return values
}
