package cia402

import "testing"

// CiA 402: statusword mask and value by state, with the
// example words. Secondary: a general CANopen library's CiA 402 profile.
var statusRows = []struct {
	state       State
	mask, value uint16
	examples    []uint16
}{
	{NotReadyToSwitchOn, 0x4F, 0x00, []uint16{0x0200}},
	{SwitchOnDisabled, 0x4F, 0x40, []uint16{0x0250}},
	{ReadyToSwitchOn, 0x6F, 0x21, []uint16{0x0231}},
	{SwitchedOn, 0x6F, 0x23, []uint16{0x0233}},
	{OperationEnabled, 0x6F, 0x27, []uint16{0x0237, 0x1637}},
	{QuickStopActive, 0x6F, 0x07, []uint16{0x0217}},
	{FaultReactionActive, 0x4F, 0x0F, []uint16{0x021F}},
	{Fault, 0x4F, 0x08, []uint16{0x0218, 0x0208}},
}

func TestDecode_Every16BitWord(t *testing.T) {
	one, none := 0, 0
	for w := range 1 << 16 {
		word := uint16(w)
		matches := 0
		var want State
		for _, row := range statusRows {
			if word&row.mask == row.value {
				matches++
				want = row.state
			}
		}
		got, ok := Decode(word)
		if ok != (matches == 1) || ok && got != want {
			t.Fatalf("Decode(%#04x) = %v, %v; want %v, %d matches", word, got, ok, want, matches)
		}
		if w < 128 {
			if ok {
				one++
			} else {
				none++
			}
		}
	}
	// Computed from the masks, over the low seven bits.
	if one != 24 || none != 104 {
		t.Errorf("%d of 128 patterns decode, %d do not; want 24 and 104", one, none)
	}
}

func TestDecode_ExampleWords(t *testing.T) {
	for _, row := range statusRows {
		for _, word := range row.examples {
			if got, ok := Decode(word); !ok || got != row.state {
				t.Errorf("Decode(%#04x) = %v, %v; want %v", word, got, ok, row.state)
			}
		}
	}
	// A sample header's 0x0020 for switch on disabled is wrong.
	if got, _ := Decode(0x0020); got == SwitchOnDisabled {
		t.Errorf("Decode(0x0020) = %v; that value contradicts the mask table", got)
	}
}

func TestStatusword_ComposesTheExamples(t *testing.T) {
	for _, row := range statusRows {
		want := row.examples[0]
		flags := Remote
		if want&0x10 != 0 {
			flags |= VoltageEnabled
		}
		if got := Statusword(row.state, flags); got != want {
			t.Errorf("Statusword(%v) = %#04x, want %#04x", row.state, got, want)
		}
	}
}

func TestStatusword_NoFlagChangesTheState(t *testing.T) {
	for s := range State(StateCount) {
		for f := range 1 << 16 {
			if got, ok := Decode(Statusword(s, Flags(f))); !ok || got != s {
				t.Fatalf("state %v with flags %#04x decodes to %v, %v", s, f, got, ok)
			}
		}
	}
}

// Controlword, mask and value over bits 7, 3, 2, 1, 0: the same source.
var commandRows = []struct {
	word, mask, value uint16
}{
	{CommandShutdown, 0x87, 0x06},
	{CommandSwitchOn, 0x8F, 0x07},
	{CommandEnableOperation, 0x8F, 0x0F},
	{CommandDisableOperation, 0x8F, 0x07},
	{CommandDisableVoltage, 0x82, 0x00},
	{CommandQuickStop, 0x86, 0x02},
	{CommandFaultReset, 0x80, 0x80},
}

func TestCommanded_Every16BitWord(t *testing.T) {
	for w := range 1 << 16 {
		word := uint16(w)
		got := Commanded(word)
		for _, row := range commandRows {
			if (word&row.mask == row.value) != (got == row.word) {
				t.Fatalf("Commanded(%#04x) = %#02x against mask %#02x value %#02x",
					word, got, row.mask, row.value)
			}
		}
	}
}

const none = NoTransition

// Which transition each command takes in each state: the transition table of
// CiA 402, secondary, row by row. The columns are the words 06, 07, 0F, 00, 02, 80.
var legalRows = map[State][6]Transition{
	NotReadyToSwitchOn:  {none, none, none, none, none, none},
	SwitchOnDisabled:    {2, none, none, none, none, none},
	ReadyToSwitchOn:     {none, 3, 3, 7, 7, none},
	SwitchedOn:          {6, none, 4, 10, 10, none},
	OperationEnabled:    {8, 5, none, 9, 11, none},
	QuickStopActive:     {none, none, 16, 12, none, none},
	FaultReactionActive: {none, none, none, none, none, none},
	Fault:               {none, none, none, none, none, 15},
}

var columns = [6]uint16{0x06, 0x07, 0x0F, 0x00, 0x02, 0x80}

// Where each commanded transition ends: the same table.
var endRows = map[Transition]State{
	2: ReadyToSwitchOn, 3: SwitchedOn, 4: OperationEnabled, 5: SwitchedOn,
	6: ReadyToSwitchOn, 7: SwitchOnDisabled, 8: ReadyToSwitchOn, 9: SwitchOnDisabled,
	10: SwitchOnDisabled, 11: QuickStopActive, 12: SwitchOnDisabled,
	15: SwitchOnDisabled, 16: OperationEnabled,
}

func TestNext_EveryStateAndCommand(t *testing.T) {
	for state, row := range legalRows {
		for i, word := range columns {
			move := Next(state, 0, word, Condition{MayResume: true})
			if move.Taken[0] != row[i] {
				t.Errorf("%v, word %#02x takes %d, want %d", state, word, move.Taken[0], row[i])
			}
			want := state
			if row[i] != none {
				want = endRows[row[i]]
			}
			second := none
			if state == ReadyToSwitchOn && word == 0x0F { // 3 and 4 at once
				want, second = OperationEnabled, 4
			}
			if move.To != want || move.Taken[1] != second {
				t.Errorf("%v, word %#02x ends in %v after %v, want %v",
					state, word, move.To, move.Taken, want)
			}
		}
	}
}

func TestNext_IrrelevantBitsChangeNothing(t *testing.T) {
	for state := range State(StateCount) {
		for w := range 1 << 16 {
			word := uint16(w)
			got := Next(state, 0, word, Condition{MayResume: true})
			want := Next(state, 0, Commanded(word), Condition{MayResume: true})
			if got != want {
				t.Fatalf("%v: word %#04x does %v, its command %v", state, word, got, want)
			}
		}
	}
}

func TestNext_Conditions(t *testing.T) {
	tests := []struct {
		name         string
		from         State
		before, word uint16
		c            Condition
		want         State
	}{
		{"test (a): bit 7 held is no edge", Fault, 0x80, 0x80, Condition{}, Fault},
		{"15 on the rising edge", Fault, 0x00, 0x80, Condition{}, SwitchOnDisabled},
		{"15 with other bits set", Fault, 0x0F, 0x8F, Condition{}, SwitchOnDisabled},
		{"no reset on the falling edge", Fault, 0x80, 0x00, Condition{}, Fault},
		{"test (b): cause present", Fault, 0x00, 0x80, Condition{CausePresent: true}, Fault},
		{"16 needs option 5 to 8", QuickStopActive, 0x02, 0x0F, Condition{}, QuickStopActive},
		{"2 needs permission", SwitchOnDisabled, 0, 0x06, Condition{Inhibited: true},
			SwitchOnDisabled},
		{"test (d): 0F in switch on disabled", SwitchOnDisabled, 0, 0x0F, Condition{},
			SwitchOnDisabled},
		{"bit 7 high hides the other commands", OperationEnabled, 0x0F, 0x80, Condition{},
			OperationEnabled},
	}
	for _, tt := range tests {
		if got := Next(tt.from, tt.before, tt.word, tt.c).To; got != tt.want {
			t.Errorf("%s: ends in %v, want %v", tt.name, got, tt.want)
		}
	}
}

// Option codes and their defaults: CiA 402, secondary; 605D 3 and 4 and the default of
// 6007 from memory.
func TestOptions(t *testing.T) {
	o := DefaultOptions()
	if o != (Options{2, 0, 1, 1, 2, 1}) || !o.Legal() {
		t.Errorf("defaults %+v, legal %v", o, o.Legal())
	}
	for _, bad := range []func(*Options){
		func(o *Options) { o.QuickStop = 9 },
		func(o *Options) { o.QuickStop = -1 },
		func(o *Options) { o.Shutdown = 2 },
		func(o *Options) { o.Disable = 2 },
		func(o *Options) { o.Halt = 0 },
		func(o *Options) { o.Halt = 5 },
		func(o *Options) { o.FaultReaction = 5 },
		func(o *Options) { o.Abort = 4 },
	} {
		o := DefaultOptions()
		if bad(&o); o.Legal() {
			t.Errorf("%+v is not allowed by the profile", o)
		}
	}
	for code := range int16(9) {
		if Stays(code) != (code >= 5) {
			t.Errorf("option 605A %d stays in quick stop active: %v", code, Stays(code))
		}
	}
	for code, want := range map[int16]int16{0: 0, 1: 1, 4: 4, 5: 1, 6: 2, 7: 3, 8: 4} {
		if got := Braking(code); got != want {
			t.Errorf("option 605A %d brakes by %d, want %d", code, got, want)
		}
	}
}

// Every code by its number: CiA 402, secondary.
func TestErrorCodes(t *testing.T) {
	for name, code := range map[string][2]uint16{
		"continuous over-current":     {ErrorOverCurrent, 0x2310},
		"short on the motor side":     {ErrorShortMotor, 0x2320},
		"I2t":                         {ErrorI2t, 0x2350},
		"mains over-voltage":          {ErrorMainsOver, 0x3110},
		"mains under-voltage":         {ErrorMainsUnder, 0x3120},
		"phase failure":               {ErrorPhase, 0x3130},
		"DC link over":                {ErrorLinkOver, 0x3210},
		"DC link under":               {ErrorLinkUnder, 0x3220},
		"device over-temperature":     {ErrorDeviceHot, 0x4210},
		"drive over-temperature":      {ErrorDriveHot, 0x4310},
		"24 V supply":                 {ErrorControlSupply, 0x5112},
		"software watchdog":           {ErrorSoftwareWatchdog, 0x6010},
		"parameter":                   {ErrorParameter, 0x6320},
		"motor blocked":               {ErrorMotorBlocked, 0x7121},
		"sensor":                      {ErrorSensor, 0x7300},
		"incremental sensor 1":        {ErrorIncremental, 0x7305},
		"communication":               {ErrorCommunication, 0x7500},
		"following error":             {ErrorFollowing, 0x8611},
		"deceleration":                {ErrorDeceleration, 0xF001},
		"life guard (CiA 301, [MEM])": {ErrorConnection, 0x8130},
	} {
		if code[0] != code[1] {
			t.Errorf("%s is %04X, want %04X", name, code[0], code[1])
		}
	}
	for code, want := range map[uint16]bool{
		ErrorOverCurrent: true, ErrorLinkUnder: true, ErrorIncremental: true,
		ErrorVelocity: true, ErrorDriveHot: false, ErrorConnection: false,
		ErrorFollowing: false,
	} {
		if Severe(code) != want {
			t.Errorf("Severe(%04X) = %v, want %v", code, !want, want)
		}
	}
}
