package record

import (
	"encoding/json"
	"fmt"
	"sync"
)

// Body is what an event says beyond who, when and where. It marshals to a JSON
// object whose keys follow the rules of the format.
type Body interface{ Kind() Kind }

// Draft is an event that is not sealed yet: what is to be written, without a
// time, a person or a place in the chain.
type Draft struct{ Body Body }

// As reads the body of an event as T, such as As[Reading](e). Members that T
// does not have are left alone. The error says that the event is of another
// kind, or that its body does not fit.
func As[T Body](e Event) (T, error) {
	var body T
	if body.Kind() != e.Kind {
		return body, fmt.Errorf("event %d: %s read as %s", e.Seq, e.Kind, body.Kind())
	}
	if err := json.Unmarshal(e.Body, &body); err != nil {
		var none T
		return none, fmt.Errorf("event %d: body of %s: %w", e.Seq, e.Kind, err)
	}
	return body, nil
}

// Blobs gives the digests of the blobs that the event's body names, in the
// order of its members. Zero digests, other kinds and bodies that do not fit
// their kind name none; [Verify] refuses the last.
func (e Event) Blobs() []Hash {
	body, err := e.Decode()
	if err != nil {
		return nil
	}
	named, ok := body.(interface{ blobs() []Hash })
	if !ok {
		return nil
	}
	var digests []Hash
	for _, h := range named.blobs() {
		if !h.IsZero() {
			digests = append(digests, h)
		}
	}
	return digests
}

// Decode reads the body according to its kind, for a switch over the types of
// this package. It is nil, without an error, for a kind that is not known. The
// error says that the body does not fit.
func (e Event) Decode() (Body, error) {
	read, known := decoders()[e.Kind]
	if !known {
		return nil, nil
	}
	return read(e)
}

// decoders has a reader for every kind; it is the list of the kinds known.
var decoders = sync.OnceValue(func() map[Kind]bodyReader {
	return register(
		decoder[Created], decoder[Replanned],
		decoder[StepStarted], decoder[StepDone], decoder[StepSkipped], decoder[StepReopened],
		decoder[Acknowledged], decoder[Cleared], decoder[Value], decoder[Choice], decoder[Timer],
		decoder[RunStarted], decoder[Reading], decoder[Observation], decoder[Alarm], decoder[Stage], decoder[RunEnded],
		decoder[Corrected], decoder[Deviation], decoder[Note], decoder[Photo],
		decoder[Emergency], decoder[Stopped], decoder[Paused], decoder[Resumed],
		decoder[HandedOver], decoder[HoldReleased], decoder[Transcribed], decoder[Clock],
		decoder[TestAdded], decoder[ReadyForReview],
		decoder[Signed], decoder[SentBack], decoder[Explained], decoder[Recalled], decoder[Amended], decoder[Transferred],
	)
})

type bodyReader = func(Event) (Body, error)

func decoder[T Body]() (Kind, bodyReader) {
	var body T
	return body.Kind(), func(e Event) (Body, error) { return As[T](e) }
}

func register(entries ...func() (Kind, bodyReader)) map[Kind]bodyReader {
	readers := make(map[Kind]bodyReader, len(entries))
	for _, entry := range entries {
		kind, read := entry()
		readers[kind] = read
	}
	return readers
}
