package archive

import (
	"encoding/json"
	"errors"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"linerwatch/app/study"
	"linerwatch/dicomio/dimse"
	"linerwatch/dicomio/web"
)

// Settings are what is set of one archive. No password is among them.
type Settings struct {
	Name    string `json:"name"`
	Address string `json:"address"` // https://host/dicom-web, or host:104

	User         string `json:"user,omitempty"`          // DICOMweb
	PasswordFile string `json:"password_file,omitempty"` // readable by its owner alone

	Called  string `json:"called,omitempty"`  // DIMSE: the archive's title
	Calling string `json:"calling,omitempty"` // DIMSE: the title of this program
	TLS     bool   `json:"tls,omitempty"`     // DIMSE; an address of https has it
	Receive string `json:"receive,omitempty"` // DIMSE: where films are received, as :11112, by C-MOVE; "" is by C-GET

	CA   string `json:"ca,omitempty"`   // PEM file of authorities that are trusted beside the system's
	Cert string `json:"cert,omitempty"` // PEM files of this program's own certificate and its key
	Key  string `json:"key,omitempty"`
}

// Web reports whether the archive is asked by DICOMweb.
func (s Settings) Web() bool { return strings.Contains(s.Address, "://") }

// Check refuses settings that cannot be.
func (s Settings) Check() error {
	if s.Name == "" || len(s.Name) > 32 || strings.Trim(strings.ToLower(s.Name), "abcdefghijklmnopqrstuvwxyz0123456789-") != "" {
		return study.NewError("archive.name", study.Values{"Name": s.Name})
	}
	if (s.Cert == "") != (s.Key == "") {
		return study.NewError("archive.cert", nil)
	}
	if s.Web() {
		if s.Called != "" || s.Calling != "" || s.TLS || s.Receive != "" {
			return study.NewError("archive.web-only", nil)
		}
		_, err := web.New(s.Address, web.Options{})
		return err
	}
	if s.User != "" || s.PasswordFile != "" {
		return study.NewError("archive.dimse-only", nil)
	}
	return (&dimse.Client{Address: s.Address, Called: s.Called, Calling: s.Calling}).Check()
}

// Whole returns s with its files named from any working folder. Those that cannot be used,
// as a password file that others can read, are refused.
func (s Settings) Whole() (Settings, error) {
	for _, name := range []*string{&s.PasswordFile, &s.CA, &s.Cert, &s.Key} {
		if *name == "" {
			continue
		}
		whole, err := filepath.Abs(*name)
		if err != nil {
			return s, err
		}
		*name = whole
	}
	if s.PasswordFile != "" {
		if s.User == "" {
			return s, study.NewError("archive.no-user", nil)
		}
		if _, err := inFile(s.PasswordFile); err != nil {
			return s, err
		}
	}
	_, err := s.tls()
	return s, err
}

// Clear reports whether a password would go over the network unprotected.
func (s Settings) Clear() bool {
	u, err := url.Parse(s.Address)
	return err == nil && s.User != "" && u.Scheme == "http"
}

// DefaultPath returns the place of the archives' settings in the user's own configuration
// folder, or "" where there is none.
func DefaultPath() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "linerwatch", "archives.json")
}

// Load reads what is set of archives, by name. No file is none.
func Load(path string) ([]Settings, error) {
	data, err := os.ReadFile(path)
	switch {
	case path == "" || errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, err
	}
	var list []Settings
	if err := json.Unmarshal(data, &list); err != nil {
		return nil, study.NewError("archive.settings", study.Values{"Path": path, "Why": err.Error()})
	}
	return list, nil
}

// Save replaces the file in one step.
func Save(path string, list []Settings) error {
	if path == "" {
		return study.NewError("archive.no-settings", nil)
	}
	slices.SortFunc(list, func(a, b Settings) int { return strings.Compare(a.Name, b.Name) })
	data, err := json.MarshalIndent(list, "", "  ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), ".archives-*")
	if err != nil {
		return err
	}
	_, err = tmp.Write(data)
	if err = errors.Join(err, tmp.Close()); err == nil {
		err = os.Rename(tmp.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(tmp.Name()))
	}
	return nil
}

// Named returns the archive of a name.
func Named(list []Settings, name string) (Settings, error) {
	i := slices.IndexFunc(list, func(s Settings) bool { return s.Name == name })
	if i < 0 {
		return Settings{}, study.NewError("archive.unknown", study.Values{"Name": name})
	}
	return list[i], nil
}
