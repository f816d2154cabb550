package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"unicode"
	"unicode/utf8"

	"github.com/spf13/cobra"
	"golang.org/x/crypto/ssh"

	"daytank/cmd/internal/desk"
	"daytank/cmd/internal/prompt"
	"daytank/cmd/internal/signing"
	"daytank/procedures/record"
	"daytank/procedures/report"
	"daytank/procedures/review"
	"daytank/procedures/store"
	"daytank/safety"
)

// reviewOptions are the flags of `daytank review`.
type reviewOptions struct {
	query  store.Query
	states []string
	asJSON bool
}

// newReviewCommand makes `daytank review`.
func newReviewCommand(a *app) *cobra.Command {
	var o reviewOptions
	cmd := &cobra.Command{
		Use:   "review [JOB]",
		Short: "the jobs to review: sign off, send back, explain, recall",
		Long: `Lists the jobs to review, the worst first, and opens one with everything that
somebody who was not there must see. A job is signed off twice: the work, that
the vehicle is fit to go back on the road, and the result, after the idle test
after it. Each sign-off is an SSH signature over the record as it was seen;
whoever did work of a job cannot sign it.

Who may sign stands in the file of the setting review_signers, of the form of
OpenSSH's allowed signers; daytank review signers new makes a first key. Without
a terminal, or with --json, the list or the job is written and nothing is asked.`,
		Example: `  daytank review
  daytank review VAN-07/3
  daytank review --asset VAN-07 --json`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 1 {
				return usage(fmt.Sprintf("%s takes one job or none, not %d", cmd.CommandPath(), len(args)))
			}
			return nil
		},
		RunE:              func(cmd *cobra.Command, args []string) error { return a.review(cmd.Context(), args, o) },
		ValidArgsFunction: a.completeJob,
	}
	f := cmd.Flags()
	f.StringVar(&o.query.Asset, "asset", "", "only those of this `ASSET`")
	f.StringVar(&o.query.Operator, "by", "", "only those of this operator `NAME`")
	f.StringArrayVar(&o.states, "state", nil, "those in this `STATE` and not those to review; may be repeated")
	f.BoolVar(&o.asJSON, "json", false, "as JSON")
	cmd.AddCommand(newSignersCommand(a))
	return a.takesShared(cmd)
}

func (a *app) review(ctx context.Context, args []string, o reviewOptions) error {
	var err error
	if o.query.States, err = statesOf(o.states); err != nil {
		return err
	}
	if len(o.query.States) == 0 {
		o.query.States = []record.State{record.StateToReview}
	}
	o.query.WorstFirst = true
	kept, err := a.openStore(ctx)
	if err != nil {
		return err
	}
	defer kept.Close()
	var first *record.Summary
	if len(args) == 1 {
		sum, err := findJob(ctx, kept, args[0])
		if err != nil {
			return err
		}
		first = &sum
	}
	signers, err := a.signers()
	if err != nil {
		return err
	}
	if o.asJSON || !a.env.StdinIsTerminal() || !a.env.StdoutIsTerminal() {
		return a.writeReview(ctx, kept, first, signers, o)
	}
	defer a.exchange(ctx, patienceAfter)
	return errors.Join(a.reviewAtDesk(ctx, kept, first, signers, o.query), a.handBack(context.WithoutCancel(ctx)))
}

// writeReview writes the list, or one job, and asks nothing.
func (a *app) writeReview(ctx context.Context, kept store.Store, first *record.Summary, signers *review.Signers, o reviewOptions) error {
	zone := a.env.Now().Location()
	if first == nil {
		jobs, err := kept.Jobs(ctx, o.query)
		if err != nil {
			return err
		}
		rows, err := desk.Rows(ctx, kept, jobs, zone)
		if err != nil {
			return err
		}
		if o.asJSON {
			return writeJSON(a.env.Stdout, rows)
		}
		if len(rows) == 0 {
			fmt.Fprintln(a.env.Stderr, "nothing is here to review")
			return nil
		}
		report.QueueText(a.env.Stdout, rows, 1)
		return nil
	}
	bench, err := a.benchOf(kept)
	if err != nil {
		return err
	}
	opened, err := desk.Open(ctx, bench, *first, signers, zone)
	if err != nil {
		return err
	}
	sheet := opened.Sheet
	if o.asJSON {
		return errors.Join(writeJSON(a.env.Stdout, sheet), intact(sheet))
	}
	report.SheetText(a.env.Stdout, sheet, min(a.env.Width(), 100))
	return intact(sheet)
}

// intact gives the status of a record that does not verify.
func intact(sheet report.ReviewSheet) error {
	if sheet.Intact {
		return nil
	}
	return end(Unverified)
}

// reviewAtDesk holds the conversation with the supervisor.
func (a *app) reviewAtDesk(ctx context.Context, kept store.Store, first *record.Summary, signers *review.Signers, q store.Query) error {
	library, err := a.books()
	if err != nil {
		return err
	}
	s, err := a.settings()
	if err != nil {
		return err
	}
	var takeBack func()
	var in io.Reader = a.env.Stdin
	if !a.lineMode() {
		in, takeBack = a.lentInput()
	}
	talk := prompt.New(in, a.env.Stdout, a.env.Sleep)
	name := cmp.Or(a.flags.operator, s.Operator)
	if name == "" {
		if name, err = a.askName(ctx, talk, "Who reviews?"); err != nil {
			return stopped(err, nothingKept)
		}
	}
	bench, err := a.bench(kept, library, name)
	if err != nil {
		return err
	}
	held := keyholder{app: a, file: s.SigningKey, signers: signers, name: name}
	defer held.close()
	c := desk.Config{
		Bench: bench, Name: name, Zone: a.env.Now().Location(), Now: a.env.Now, Signers: signers, Query: q, Key: held.key,
		NoList: fmt.Sprintf("Nobody can sign yet: there is no list of signers at %s. daytank review signers new makes a key and the list.", s.ReviewSigners),
	}
	if takeBack != nil {
		takeBack()
		return stopped(desk.RunScreen(ctx, c, first, desk.ScreenConfig{In: a.env.Stdin, Out: a.screen(), Colour: a.colour()}), reviewKept)
	}
	face := desk.Lines{Out: a.env.Stdout, Width: a.env.Width, Read: talk.Read, Hide: func(ctx context.Context, question string) (string, error) {
		return a.secret(ctx, talk, question)
	}}
	return stopped(desk.New(c, face).Run(ctx, first), reviewKept)
}

const reviewKept = "everything signed or written until then is kept"

// keyholder finds the key to sign with: the file of the setting, else the agent's.
type keyholder struct {
	app     *app
	file    string
	signers *review.Signers
	name    string
	closer  io.Closer
}

func (k *keyholder) close() {
	if k.closer != nil {
		k.closer.Close()
	}
}

// key gives the key, its passphrase asked for if it has one.
func (k *keyholder) key(secret func(question string) (string, error)) (ssh.Signer, error) {
	var signer ssh.Signer
	err := error(signing.ErrPassphrase)
	for try := 0; try < 3 && errors.Is(err, signing.ErrPassphrase); try++ {
		question := "passphrase of " + k.file + " > "
		if try > 0 {
			question = "that was not it; " + question
		}
		signer, err = signing.Open(k.file, func() (string, error) { return secret(question) })
	}
	if !errors.Is(err, signing.ErrNoKey) {
		return signer, err
	}
	signer, closer, err := signing.FromAgent(k.app.env.Getenv("SSH_AUTH_SOCK"), func(key ssh.PublicKey) bool {
		_, err := k.signers.Find(k.name, key, k.app.env.Now())
		return err == nil
	})
	if err != nil {
		return nil, fmt.Errorf("no key of %s: none at %s, and %w", k.name, k.file, err)
	}
	k.closer = closer
	return signer, nil
}

// largestList is what a list of signers may have at most, in bytes.
const largestList = 1 << 20

// signers reads the list of those who may sign; nil where there is none.
func (a *app) signers() (*review.Signers, error) {
	s, err := a.settings()
	if err != nil {
		return nil, err
	}
	if s.ReviewSigners == "" {
		return nil, nil
	}
	info, err := os.Stat(s.ReviewSigners)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil
	case err != nil:
		return nil, fail(Usage, err)
	case !info.Mode().IsRegular() || info.Size() > largestList:
		return nil, usage(s.ReviewSigners+" is no list of signers", "the setting review_signers names a file of OpenSSH's allowed signers, of at most 1 MiB")
	}
	text, err := os.ReadFile(s.ReviewSigners)
	if err != nil {
		return nil, fail(Usage, err)
	}
	list, err := review.ParseSigners(s.ReviewSigners, text, a.env.Now().Location())
	if err != nil {
		return nil, fail(Usage, err, "ssh-keygen(1), ALLOWED SIGNERS, has the form; daytank review signers new adds a line")
	}
	return &list, nil
}

// ownList tells whether whoever runs this can write the list of signers, which then
// proves less.
func ownList(file string) bool {
	f, err := os.OpenFile(file, os.O_WRONLY|os.O_APPEND, 0)
	if err != nil {
		return false
	}
	return f.Close() == nil
}

// longestSigner is how long a signer's name may be, in characters.
const longestSigner = 80

// quotedPrincipal gives a name as it stands in the list: with spaces, between quotation
// marks.
func quotedPrincipal(name string) (string, error) {
	switch {
	case name != prompt.Plain(name) || strings.Join(strings.Fields(name), " ") != name:
		return "", usage("a signer's name is on one line, with single spaces, and has nothing that cannot be seen")
	case !strings.ContainsFunc(name, unicode.IsLetter) || safety.TooEasy(name) || strings.HasPrefix(name, "#") || utf8.RuneCountInString(name) > longestSigner:
		return "", usage(fmt.Sprintf("%q is no name of a signer", prompt.Plain(name)[:min(len(prompt.Plain(name)), 40)]), fmt.Sprintf("a name has letters, and at most %d characters", longestSigner))
	}
	if strings.ContainsAny(name, "\",*?!") {
		return "", usage(fmt.Sprintf("a signer's name has none of the characters \" , * ? !: %s", prompt.Plain(name)))
	}
	if strings.ContainsAny(name, " \t") {
		return `"` + name + `"`, nil
	}
	return name, nil
}
