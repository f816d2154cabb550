// Package settings finds out how the user wants the program to behave, and
// can say of every setting where its value came from.
//
// A setting is a key with one text value. The first of these places that has
// the key wins:
//
//  1. the flag on the command line, for the keys that have one;
//  2. the environment variable DAYTANK_ and the key in capitals, such as
//     DAYTANK_UNITS (an empty variable counts as not set);
//  3. the settings file, named by --config, or else daytank/settings.yaml in
//     the user's folder for configuration;
//  4. the default of [Keys].
//
// The folders are those of the XDG Base Directory Specification 0.8, on macOS
// and Windows the customary ones of the system, always by the environment that
// is handed in and never by the program's own.
//
// The file is a YAML mapping from key to text, read as it is written: an
// emergency number 0112 stays 0112. A path in it that is not absolute is meant
// from the folder the file is in, and ~/ is the home folder.
//
// What is refused, everything at once and each with its place: a key nobody
// knows (with the nearest known one), a key given twice, an empty value, a word
// that is not one of those a key accepts, text over its length, control
// characters and marks that change the direction of writing, and a file named
// by --config that is not there. A variable DAYTANK_ that is no setting is a
// warning only, because packagers set such variables for ends of their own.
package settings

import (
	"errors"
	"fmt"
	"reflect"
	"strconv"

	"github.com/go-viper/mapstructure/v2"
	"github.com/spf13/viper"

	"daytank/planner/quantity"
	"daytank/planner/strict"
)

// Settings is what the user chose. The tags are the keys.
type Settings struct {
	Units           quantity.System `mapstructure:"units"`
	DecimalComma    bool            `mapstructure:"decimal"`
	Operator        string          `mapstructure:"operator"`         // who works; empty: ask
	Store           string          `mapstructure:"store"`            // file of the records
	Whys            bool            `mapstructure:"whys"`             // show the reason of each step
	Library         string          `mapstructure:"library"`          // folder of the user's own data
	EmergencyNumber string          `mapstructure:"emergency_number"` // empty: see EmergencyCall
	AlarmCommand    string          `mapstructure:"alarm_command"`    // empty: the bell alone
	PhotoInbox      string          `mapstructure:"photo_inbox"`      // folder; empty: none
	People          string          `mapstructure:"people"`           // file of names and PINs
	Shop            string          `mapstructure:"shop"`             // on reports; empty: none
	ReviewSigners   string          `mapstructure:"review_signers"`   // file; not there: nobody may sign
	SigningKey      string          `mapstructure:"signing_key"`      // file of the private key to sign off with
	Share           string          `mapstructure:"share"`            // address of the shared store; empty: none
	Bay             string          `mapstructure:"bay"`              // name of this bay; empty: that of the machine

	FollowupDays     int               `mapstructure:"followup_days"` // after these an after-test is due
	FollowupDistance quantity.Distance `mapstructure:"followup_distance"`
	FollowupHours    quantity.Duration `mapstructure:"followup_hours"`

	file     string
	fileRead bool
	data     string
	origins  map[string]string
	texts    map[string]string
	warnings []string
}

// Origin tells where the value of a key came from: "flag --units",
// "DAYTANK_UNITS", "file /home/mara/.config/daytank/settings.yaml" or
// "default". A key that does not exist has no origin, the empty text.
func (s Settings) Origin(key string) string { return s.origins[key] }

// Text gives the value of a key as it would be written in the file, paths
// resolved; empty where nothing is set.
func (s Settings) Text(key string) string { return s.texts[key] }

// File gives the path of the settings file, and whether there was one to read.
// The path is empty where the environment has no place for it.
func (s Settings) File() (path string, read bool) { return s.file, s.fileRead }

// DataFolder gives the program's folder for data of this user, by the customs of the system;
// empty where the environment names none.
func (s Settings) DataFolder() string { return s.data }

// Warnings gives what is odd in the places looked at but leaves the settings
// good, one sentence each.
func (s Settings) Warnings() []string { return s.warnings }

// Printer gives the printer for quantities in the user's units.
func (s Settings) Printer() quantity.Printer {
	return quantity.Printer{System: s.Units, DecimalComma: s.DecimalComma}
}

// EmergencyCall gives the number to call as it stands in a sentence after
// "call": the number set, or words that hold in every country.
func (s Settings) EmergencyCall() string {
	if s.EmergencyNumber == "" {
		return "your local emergency number"
	}
	return s.EmergencyNumber
}

// Load reads all places and decides each key. An error is a [strict.Problems]
// with everything that is wrong, or says which file cannot be read.
func Load(from Sources) (Settings, error) {
	at := from.folders()
	s := Settings{file: from.path(at), data: below(at.data, "daytank"), origins: map[string]string{}, texts: map[string]string{}}
	file, read, err := from.readFile(s.file)
	var problems strict.Problems
	if err != nil && !errors.As(err, &problems) {
		return Settings{}, err
	}
	s.fileRead = read
	given, wrong := from.given()
	if problems = append(problems, wrong...); len(problems) > 0 {
		return Settings{}, problems
	}
	v := viper.New()
	for _, key := range Keys() {
		s.origins[key.Name] = "default"
		v.SetDefault(key.Name, key.initial(at))
		if text, ok := file[key.Name]; ok {
			s.origins[key.Name] = "file " + s.file
			file[key.Name] = at.resolve(key, text, s.file)
		}
		if value, ok := given[key.Name]; ok {
			s.origins[key.Name] = value.origin
			v.Set(key.Name, at.resolve(key, value.text, ""))
		}
	}
	if err := v.MergeConfigMap(untyped(file)); err != nil {
		return Settings{}, fmt.Errorf("settings file %s: %w", s.file, err)
	}
	for _, key := range Keys() {
		s.texts[key.Name] = v.GetString(key.Name)
	}
	s.warnings = from.strangers()
	return s, decode(v, &s)
}

// decode fills the struct from all keys; a key without a field is an error.
func decode(v *viper.Viper, s *Settings) error {
	err := v.UnmarshalExact(s, func(c *mapstructure.DecoderConfig) {
		c.WeaklyTypedInput = false
		c.DecodeHook = fromWords
	})
	if err != nil {
		return fmt.Errorf("settings: %w", err)
	}
	return nil
}

// fromWords gives the kinds of field that are not text their value.
func fromWords(_, to reflect.Type, data any) (any, error) {
	text, ok := data.(string)
	switch {
	case !ok:
		return data, nil
	case to == reflect.TypeFor[quantity.System]():
		return quantity.ParseSystem(text)
	case to == reflect.TypeFor[quantity.Distance]():
		return quantity.ParseDistance(text)
	case to == reflect.TypeFor[quantity.Duration]():
		return quantity.ParseDuration(text)
	case to.Kind() == reflect.Int:
		return strconv.Atoi(text)
	case to.Kind() == reflect.Bool:
		return text == "on" || text == "comma", nil
	}
	return data, nil
}

func untyped(in map[string]string) map[string]any {
	out := map[string]any{}
	for key, text := range in {
		out[key] = text
	}
	return out
}
