package workshop

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"rollwright/text/choice"
	"rollwright/text/infile"
)

// contentsName is the list of what Build has put into a folder, in the form
// that sha256sum -c checks.
const contentsName = "contents.sha256"

// content is one file of a built folder.
type content struct {
	sum  string // SHA-256 in hexadecimal
	name string
}

// contents is a built folder's list.
type contents []content

// readContents is the list in folder, empty when there is none.
func readContents(folder string) (contents, error) {
	path := filepath.Join(folder, contentsName)
	if err := infile.Check(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	file, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer file.Close()
	return parseContents(file, path)
}

// parseContents reads the list that lies at path. A name that leads out of its
// folder is an error.
func parseContents(r io.Reader, path string) (contents, error) {
	var list contents
	lines := bufio.NewScanner(io.LimitReader(r, maxBytes))
	for lines.Scan() {
		sum, name, ok := strings.Cut(string(infile.Text(lines.Bytes())), "  ")
		if !ok || len(sum) != 2*sha256.Size || !fs.ValidPath(name) || name == "." ||
			!filepath.IsLocal(filepath.FromSlash(name)) {
			return nil, fmt.Errorf("%s is not a list that build has written; take it out of the folder, or build into another",
				path)
		}
		list = append(list, content{sum, name})
	}
	return list, lines.Err()
}

// sumUp is the list of the named files, which lie where path says.
func sumUp(path func(string) string, names []string) (contents, error) {
	var list contents
	for _, name := range names {
		sum, err := sumOf(path(name))
		if err != nil {
			return nil, err
		}
		list = append(list, content{sum, name})
	}
	return list, nil
}

func sumOf(path string) (string, error) {
	if err := infile.Check(path); err != nil {
		return "", err
	}
	file, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer file.Close()
	hash := sha256.New()
	if _, err := io.Copy(hash, file); err != nil {
		return "", err
	}
	return hex.EncodeToString(hash.Sum(nil)), nil
}

func (c contents) write(w io.Writer) error {
	for _, f := range c {
		if _, err := fmt.Fprintf(w, "%s  %s\n", f.sum, f.name); err != nil {
			return err
		}
	}
	return nil
}

// piece is the name of the piece file in the list; empty when there is none.
func (c contents) piece() string {
	for _, f := range c {
		if filepath.Ext(f.name) == ".piece" {
			return f.name
		}
	}
	return ""
}

// sum is what the list says of the named file.
func (c contents) sum(name string) (string, bool) {
	i := slices.IndexFunc(c, func(f content) bool { return f.name == name })
	if i < 0 {
		return "", false
	}
	return c[i].sum, true
}

// guard is an error when a file of now would replace one that build has not
// made, or that has been changed since.
func (c contents) guard(folder string, now contents) error {
	for _, f := range now {
		path := filepath.Join(folder, f.name)
		there, err := sumOf(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return err
		}
		made, listed := c.sum(f.name)
		switch {
		case there == f.sum || listed && there == made:
		case listed:
			return choice.Errorf("%s has been changed since it was built and stays as it is; build into another folder, or say {again} to replace it", path)
		default:
			return choice.Errorf("%s is there already and stays as it is; build into another folder, or say {again} to replace it", path)
		}
	}
	return nil
}

// gone are the files that the earlier build made and this one does not: a roll
// that is no longer the piece's would be punched some day. What a person has
// changed is none.
func (c contents) gone(folder string, now contents) []string {
	var names []string
	for _, f := range c {
		if _, still := now.sum(f.name); still {
			continue
		}
		if there, err := sumOf(filepath.Join(folder, f.name)); err == nil && there == f.sum {
			names = append(names, f.name)
		}
	}
	return names
}
