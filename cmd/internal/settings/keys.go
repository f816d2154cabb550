package settings

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"daytank/planner/quantity"
)

// The longest value in bytes, of a path and of other text.
const (
	maxPath = 4096
	maxText = 200
)

// Key is one setting: what it is called and what it may be.
type Key struct {
	Name     string   // in the file
	Doc      string   // what it does, in one line
	Accepted []string // the words it may be; empty: any text
	Default  string   // in words where it is a place that depends on the user
	Flag     string   // without the dashes; empty where there is none
	Path     bool     // it names a file or folder

	standard string // the default: a word, or a path below one of the user's folders
	below    folder
	valid    func(text string) error // nil: any text
}

// Env gives the name of the environment variable.
func (k Key) Env() string { return prefix + strings.ToUpper(k.Name) }

const (
	prefix   = "DAYTANK_"
	fileName = "settings.yaml"
)

// Place gives where the file or folder is by default, with the variables of the XDG
// Base Directory Specification for the user's folders; empty where there is none.
func (k Key) Place() string { return placeBelow(k.below, k.standard) }

// FilePlace gives where the settings file is by default, in the same form.
func FilePlace() string { return placeBelow(configHome, fileName) }

func placeBelow(base folder, name string) string {
	switch base {
	case configHome:
		return "$XDG_CONFIG_HOME/daytank/" + name
	case dataHome:
		return "$XDG_DATA_HOME/daytank/" + name
	}
	return ""
}

// Keys gives all settings in the order they are shown: a table, as long as there are
// settings.
func Keys() []Key {
	return []Key{
		{
			Name: "units", Flag: "units", Accepted: []string{"metric", "us"}, standard: "metric",
			Default: "metric", Doc: "units that amounts are shown in; every unit can be typed in with either",
		},
		{
			Name: "decimal", Accepted: []string{"point", "comma"}, standard: "point",
			Default: "point", Doc: "decimal sign that numbers are shown with",
		},
		{
			Name: "operator", Flag: "operator",
			Default: "not set", Doc: "name of the person at work; not set: asked for",
		},
		{
			Name: "store", Flag: "store", Path: true, standard: "records.db", below: dataHome,
			Default: "daytank/records.db in the folder for data", Doc: "file that the records are kept in",
		},
		{
			Name: "whys", Accepted: []string{"on", "off"}, standard: "on",
			Default: "on", Doc: "show the reason beside each step",
		},
		{
			Name: "library", Path: true, standard: "library", below: configHome,
			Default: "daytank/library in the folder for configuration",
			Doc:     "folder of your own procedures, engines and layouts",
		},
		{
			Name:    "emergency_number",
			Default: "not set", Doc: `number on the emergency cards; not set: "your local emergency number"`,
		},
		{
			Name:    "alarm_command",
			Default: "not set", Doc: "command run while an alarm is not acknowledged; not set: the bell alone",
		},
		{
			Name: "photo_inbox", Path: true,
			Default: "not set", Doc: "folder that photos of the work arrive in; not set: none is watched",
		},
		{
			Name: "people", Path: true, standard: "people.yaml", below: configHome,
			Default: "daytank/people.yaml in the folder for configuration",
			Doc:     "list of those who release hold points, with their PINs",
		},
		{
			Name:    "shop",
			Default: "not set", Doc: "name of the workshop on reports and sheets",
		},
		{
			Name: "review_signers", Path: true, standard: "signers", below: configHome,
			Default: "daytank/signers in the folder for configuration",
			Doc:     "OpenSSH allowed-signers file of those who may sign off",
		},
		{
			Name: "signing_key", Path: true, standard: "signing_key", below: configHome,
			Default: "daytank/signing_key in the folder for configuration",
			Doc:     "private key that you sign off with; not there: the agent's",
		},
		{
			Name: "share", valid: ofAddress,
			Default: "not set", Doc: "PostgreSQL that bays share, postgres://name@host/database; not set: none",
		},
		{
			Name:    "bay",
			Default: "not set", Doc: "name of this bay in shared records; not set: that of the machine",
		},
		{
			Name: "followup_days", standard: "7", valid: ofDays,
			Default: "7", Doc: "after so many days the idle test after a clean is due",
		},
		{
			Name: "followup_distance", standard: "200 km", valid: ofQuantity(quantity.ParseDistance),
			Default: "200 km", Doc: "after so far a drive the idle test after a clean is due",
		},
		{
			Name: "followup_hours", standard: "25 h", valid: ofQuantity(quantity.ParseDuration),
			Default: "25 h", Doc: "after so many engine hours the idle test after a clean is due",
		},
	}
}

// initial gives the default for this user; empty where the environment names
// no folder for it.
func (k Key) initial(at folders) string {
	base := at.of(k.below)
	switch {
	case k.below == nowhere:
		return k.standard
	case base == "":
		return ""
	}
	return filepath.Join(base, "daytank", k.standard)
}

// check tells what is wrong with a value, wherever it came from.
func (k Key) check(text string) error {
	if len(k.Accepted) > 0 {
		return k.checkWord(text)
	}
	limit := maxText
	if k.Path {
		limit = maxPath
	}
	switch {
	case strings.TrimSpace(text) == "":
		return fmt.Errorf("nothing is given")
	case len(text) > limit:
		return fmt.Errorf("%d bytes, more than the %d accepted", len(text), limit)
	case !utf8.ValidString(text):
		return fmt.Errorf("this is not UTF-8 text")
	}
	if i := strings.IndexFunc(text, unfit); i >= 0 {
		r, _ := utf8.DecodeRuneInString(text[i:])
		return fmt.Errorf("character %U is not accepted", r)
	}
	if k.valid != nil {
		return k.valid(text)
	}
	// An address may hold a password, so no part after the scheme is repeated.
	if scheme, _, address := strings.Cut(text, "://"); k.Path && address {
		return fmt.Errorf("an address (%s:) where the path of a file or folder is wanted", scheme)
	}
	return nil
}

// CheckAddress tells what is wrong with the address of shared records.
func CheckAddress(text string) error { return ofAddress(text) }

// ofAddress wants the address of a database without a password in it: settings are shown,
// and read by others.
func ofAddress(text string) error {
	rest, ok := strings.CutPrefix(text, "postgres://")
	if !ok {
		rest, ok = strings.CutPrefix(text, "postgresql://")
	}
	if !ok {
		return fmt.Errorf("this is no address such as postgres://bay1@server/records")
	}
	rest, query, _ := strings.Cut(rest, "?")
	login, _, _ := strings.Cut(rest, "/")
	if i := strings.LastIndexByte(login, '@'); i >= 0 && strings.Contains(login[:i], ":") || strings.Contains(strings.ToLower(query), "password=") {
		return fmt.Errorf("there is a password in the address: it belongs into PGPASSWORD or the password file of PostgreSQL")
	}
	return nil
}

// ofDays wants a whole number of days.
func ofDays(text string) error {
	if n, err := strconv.Atoi(text); err != nil || n < 1 || n > 3650 {
		return fmt.Errorf("%q is no number of days from 1 to 3650", text)
	}
	return nil
}

// ofQuantity wants an amount above zero.
func ofQuantity[T ~float64](parse func(string) (T, error)) func(string) error {
	return func(text string) error {
		v, err := parse(text)
		if err == nil && v <= 0 {
			err = fmt.Errorf("%q is not above zero", text)
		}
		return err
	}
}

func (k Key) checkWord(text string) error {
	if slices.Contains(k.Accepted, text) {
		return nil
	}
	if len(text) > maxText {
		text = text[:maxText]
	}
	if strings.Contains(text, "://") { // an address may hold a password
		text = "an address"
	}
	return fmt.Errorf("%q is not one of %s", text, strings.Join(k.Accepted, ", "))
}

// unfit tells of a character that would change the screen or the reading
// order of the line it is shown in.
func unfit(r rune) bool {
	return unicode.IsControl(r) || unicode.In(r, unicode.Zl, unicode.Zp, unicode.Bidi_Control)
}
