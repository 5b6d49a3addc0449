Feature: People at the antenna stop it, and nothing moves behind their back

  @HR-035 @HR-036 @HR-037 @HR-038
  Rule: The interlock of a hatch, a ladder or a stow pin that opens in motion stops every axis
    Scenario Outline: The <access> interlock opens while azimuth turns
      Given azimuth rests in mid-travel
      When azimuth turns toward its upper end at full rate
      And the <access> interlock opens
      Then azimuth stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time
      And the opened access is reported to the supervisory system within 1 s

      Examples:
        | access   |
        | hatch    |
        | ladder   |
        | stow pin |

  @HR-098 @HR-099
  Rule: The isolator of an axis takes its torque away, with no network in between
    Scenario Outline: The isolator of <axis> opens in motion
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And the isolator of <axis> opens
      Then the torque of <axis> is gone in time
      And <axis> stops within its category 0 travel

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-035 @HR-036 @HR-037 @HR-038
  Rule: The mode selector turned in motion stops every axis
    Scenario Outline: The mode selector is turned to <mode> while elevation turns
      Given elevation rests in mid-travel
      When elevation turns toward its lower end at full rate
      And the mode selector is turned to <mode>
      Then elevation stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time
      And the mode change in motion is reported to the supervisory system within 1 s

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-032
  Rule: Away from remote, remote commands move nothing
    Scenario Outline: A remote command arrives with the mode selector at <mode>
      Given azimuth rests in mid-travel
      And the mode selector stands at <mode>
      When azimuth is sent toward its upper end at full rate
      Then azimuth stays where it is in spite of the remote command

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-033 @HR-034
  Rule: Hand control moves only while it is held
    Scenario: The hand control of azimuth is let go
      Given azimuth rests in mid-travel
      And the mode selector stands at local
      When azimuth is moved by hand toward its upper end
      And the hand control is let go
      Then azimuth stops within its category 1 time and travel

    Scenario Outline: The enabling device of <axis> is let go or squeezed through
      Given <axis> rests in mid-travel
      And the mode selector stands at <mode>
      When <axis> is moved by hand toward its <end> end
      And the enabling device is let go or squeezed through
      Then <axis> stops within its category 1 time and travel

      Examples:
        | axis      | mode        | end   |
        | azimuth   | local       | lower |
        | elevation | maintenance | upper |

  @HR-031
  Rule: The horn sounds before the first motion
    Scenario: Azimuth is sent off from rest
      Given azimuth rests in mid-travel
      When azimuth is sent toward its upper end at full rate
      Then azimuth moves only after the horn has sounded

  @HR-065 @HR-066
  Rule: An interlock unit that falls silent ends the motion
    Scenario: The interlock unit falls silent while azimuth turns
      Given azimuth rests in mid-travel
      When azimuth turns toward its upper end at full rate
      And the interlock unit falls silent
      Then azimuth stops within its category 1 time
      And the torque of every axis is gone within the monitored ramp time

  @HR-029
  Rule: With an access open no remote command moves the antenna
    Scenario Outline: The <access> interlock opens at rest, and a remote command arrives
      Given azimuth rests in mid-travel
      When the controller is armed
      And the <access> interlock opens
      And azimuth is sent toward its upper end at full rate
      Then azimuth is given no torque with an access open

      Examples:
        | access |
        | hatch  |
        | ladder |

  @HR-039
  Rule: Nothing pulls at an axis whose stow pin is in
    Scenario: A remote command arrives for a pinned axis
      Given elevation rests in its stow attitude, and its stow pin is in
      When elevation is sent toward its lower end at full rate
      Then elevation is given no torque against its pin

    Scenario: The hand control is held for a pinned axis
      Given elevation rests in its stow attitude, and its stow pin is in
      And the mode selector stands at maintenance
      When elevation is pushed by hand toward its lower end for 9 s
      Then elevation is given no torque against its pin
