package record

// LastTransfer gives the last transfer in a chain, which says who holds the job. Without
// one, given is false: the job is held by the store that began it. The error says that
// its body does not fit.
func LastTransfer(events []Event) (last Transferred, given bool, err error) {
	for i := len(events) - 1; i >= 0; i-- {
		if events[i].Kind == KindTransferred {
			last, err = As[Transferred](events[i])
			return last, err == nil, err
		}
	}
	return Transferred{}, false, nil
}
