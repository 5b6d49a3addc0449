package config

// controllerFile is the form of a controller's profile, its sheet. Object
// identifiers with a leading dot stand below base.
type controllerFile struct {
	Controller    text                 `yaml:"controller"`
	Launch        text                 `yaml:"launch"`
	Command       words                `yaml:"command,omitempty"`
	Base          text                 `yaml:"base"`
	Agent         agentSection         `yaml:"agent"`
	Notifications notificationsSection `yaml:"notifications"`
	Timing        pollTimingSection    `yaml:"timing"`
	Objects       objectsSection       `yaml:"objects"`
	Status        statusSection        `yaml:"status"`
	States        []numberedSection    `yaml:"states"`
	Causes        []numberedSection    `yaml:"causes"`
	Axes          axisNumbersSection   `yaml:"axes"`
	Columns       []columnSection      `yaml:"columns"`
	Commands      []commandSection     `yaml:"commands"`
	Result        *resultSection       `yaml:"result,omitempty"`
}

type agentSection struct {
	Endpoint       text `yaml:"endpoint"`
	ReadCommunity  text `yaml:"read_community"`
	WriteCommunity text `yaml:"write_community"`
}

type notificationsSection struct {
	Endpoint text          `yaml:"endpoint"`
	Number   text          `yaml:"number,omitempty"`
	Text     text          `yaml:"text,omitempty"`
	Kinds    []kindSection `yaml:"kinds"`
}

type kindSection struct {
	Name text `yaml:"name"`
	OID  text `yaml:"oid"`
}

type pollTimingSection struct {
	Poll    value[span] `yaml:"poll"`
	Table   value[span] `yaml:"table"`
	Silent  value[span] `yaml:"silent"`
	Frozen  value[span] `yaml:"frozen"`
	Timeout value[span] `yaml:"timeout"`
	Tries   count       `yaml:"tries"`
	Result  value[span] `yaml:"result"`
}

type objectsSection struct {
	Status  text `yaml:"status"`
	Counter text `yaml:"counter"`
	Version text `yaml:"version,omitempty"`
}

type fieldSection struct {
	Bit   count `yaml:"bit"`
	Width count `yaml:"width"`
}

// statusSection tells which bits of the status word say what.
type statusSection struct {
	State          fieldSection  `yaml:"state"`
	CauseAxis      *fieldSection `yaml:"cause_axis,omitempty"`
	Cause          *fieldSection `yaml:"cause,omitempty"`
	Locked         *fieldSection `yaml:"locked,omitempty"`
	Acquired       *fieldSection `yaml:"acquired,omitempty"`
	Armed          *fieldSection `yaml:"armed,omitempty"`
	Unacknowledged *fieldSection `yaml:"unacknowledged,omitempty"`
}

type numberedSection struct {
	Number count `yaml:"number"`
	Name   text  `yaml:"name"`
}

// axisNumbersSection is what the controller calls the axes; also the last
// sub-identifier of the columns.
type axisNumbersSection struct {
	All           count `yaml:"all"`
	Azimuth       count `yaml:"azimuth"`
	Elevation     count `yaml:"elevation"`
	PolarizationH count `yaml:"polarization_h"`
	PolarizationV count `yaml:"polarization_v"`
}

type columnSection struct {
	Name  text `yaml:"name"`
	OID   text `yaml:"oid"`
	Scale text `yaml:"scale,omitempty"`
}

type commandSection struct {
	Verb text         `yaml:"verb"`
	Set  []setSection `yaml:"set"`
}

type setSection struct {
	OID   text  `yaml:"oid"`
	Type  text  `yaml:"type"`
	Fixed count `yaml:"fixed,omitempty"`
	Fill  text  `yaml:"fill,omitempty"`
	Scale text  `yaml:"scale,omitempty"`
}

type resultSection struct {
	Token   text            `yaml:"token"`
	Code    text            `yaml:"code"`
	Obeyed  count           `yaml:"obeyed"`
	Reasons []reasonSection `yaml:"reasons"`
}

type reasonSection struct {
	Code count `yaml:"code"`
	Text text  `yaml:"text"`
}
