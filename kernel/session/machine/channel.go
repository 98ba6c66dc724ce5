package machine

import (
	"go/types"
	"reflect"
	"unsafe"

	"golang.org/x/tools/go/ssa"
)

// doneCase waits for the run to be stopped.
func (r *Run) doneCase() reflect.SelectCase {
	return reflect.SelectCase{Dir: reflect.SelectRecv, Chan: reflect.ValueOf(r.done)}
}

// bothWays returns the channel at p so that reflect lets it send and receive.
func channelAt(s slot, m unsafe.Pointer) reflect.Value { return valueAt(s.rt, add(m, s.off)) }

func (c *compiler) send(in *ssa.Send) {
	ch, x := c.operand(in.Chan), c.operand(in.X)
	c.emit(func(fr *frame, m unsafe.Pointer) {
		v, val := channelAt(ch, m), valueAt(x.rt, add(m, x.off))
		if !v.IsNil() && v.TrySend(val) {
			return
		}
		run := fr.th.run
		i, _, _ := reflect.Select([]reflect.SelectCase{{Dir: reflect.SelectSend, Chan: v, Send: val}, run.doneCase()})
		if i == 1 {
			panic(interrupted{})
		}
	})
}

func (c *compiler) receive(in *ssa.UnOp, d, ch slot) op {
	v := d
	var okOff uintptr
	if in.CommaOk {
		parts := c.tuples[in]
		v, okOff = parts[0], parts[1].off
	}
	commaOk := in.CommaOk
	return func(fr *frame, m unsafe.Pointer) {
		cv := channelAt(ch, m)
		var x reflect.Value
		ok := false
		if !cv.IsNil() {
			x, ok = cv.TryRecv()
		}
		if !ok && !x.IsValid() {
			var i int
			i, x, ok = reflect.Select([]reflect.SelectCase{{Dir: reflect.SelectRecv, Chan: cv}, fr.th.run.doneCase()})
			if i == 1 {
				panic(interrupted{})
			}
		}
		setSlot(v, add(m, v.off), x)
		if commaOk {
			*(*bool)(add(m, okOff)) = ok
		}
	}
}

func (c *compiler) selectOp(in *ssa.Select) {
	type state struct {
		send bool
		ch   slot
		x    slot
		out  slot
	}
	parts := c.tuples[in]
	var states []state
	recv := 2
	for _, s := range in.States {
		st := state{send: s.Dir == types.SendOnly, ch: c.operand(s.Chan)}
		if st.send {
			st.x = c.operand(s.Send)
		} else {
			st.out = parts[recv]
			recv++
		}
		states = append(states, st)
	}
	blocking := in.Blocking
	c.emit(func(fr *frame, m unsafe.Pointer) {
		cases := make([]reflect.SelectCase, 0, len(states)+1)
		for _, s := range states {
			ch := channelAt(s.ch, m)
			if s.send {
				cases = append(cases, reflect.SelectCase{Dir: reflect.SelectSend, Chan: ch, Send: valueAt(s.x.rt, add(m, s.x.off))})
			} else {
				cases = append(cases, reflect.SelectCase{Dir: reflect.SelectRecv, Chan: ch})
			}
		}
		if blocking {
			cases = append(cases, fr.th.run.doneCase())
		} else {
			cases = append(cases, reflect.SelectCase{Dir: reflect.SelectDefault})
		}
		i, x, ok := reflect.Select(cases)
		if i == len(states) {
			if blocking {
				panic(interrupted{})
			}
			i = -1
		}
		*(*int)(add(m, parts[0].off)) = i
		*(*bool)(add(m, parts[1].off)) = ok
		for j, s := range states {
			if s.send {
				continue
			}
			if j == i {
				setSlot(s.out, add(m, s.out.off), x)
			} else {
				clearAt(s.out, add(m, s.out.off))
			}
		}
	})
}
