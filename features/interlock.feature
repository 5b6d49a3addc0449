Feature: People at the antenna can stop it, and it never moves unexpectedly

  @HR-035 @HR-036 @HR-037 @HR-038
  Rule: The interlock of a hatch, a ladder or a stow pin that opens in motion stops every axis
    Scenario Outline: The <access> interlock opens while azimuth moves
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the <access> interlock opens
      Then azimuth stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time
      And the opened access is reported to the supervisory system within 1 s

      Examples:
        | access   |
        | hatch    |
        | ladder   |
        | stow pin |

  @HR-098 @HR-099
  Rule: The isolator of an axis removes its torque with no network in between
    Scenario Outline: The isolator of <axis> opens in motion
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the isolator of <axis> opens
      Then the torque of <axis> is removed within its torque-off time
      And <axis> stops within its category 0 travel

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-035 @HR-036 @HR-037 @HR-038
  Rule: The mode selector turned in motion stops every axis
    Scenario Outline: The mode selector is turned to <mode> while elevation moves
      Given elevation rests in mid-travel
      When elevation moves towards its lower end at full rate
      And the mode selector is turned to <mode>
      Then elevation stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time
      And the mode change in motion is reported to the supervisory system within 1 s

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-032
  Rule: In local and maintenance, remote commands cause no motion
    Scenario Outline: A remote command arrives with the mode selector at <mode>
      Given azimuth rests in mid-travel
      And the mode selector is at <mode>
      When azimuth is commanded towards its upper end at full rate
      Then azimuth stays at rest despite the remote command

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-033 @HR-034 @HR-012
  Rule: Hand control moves only while it is held
    Scenario: The hand control of azimuth is released
      Given azimuth rests in mid-travel
      And the mode selector is at local
      When azimuth is moved under hand control towards its upper end
      And the hand control is released
      Then azimuth stops within its category 1 time and travel

    Scenario Outline: The enabling device is <pressed> while <axis> moves under hand control
      Given <axis> rests in mid-travel
      And the mode selector is at <mode>
      When <axis> is moved under hand control towards its <end> end
      And the enabling device is <pressed>
      Then <axis> stops within its category 1 time and travel

      Examples:
        | axis      | mode        | end   | pressed       |
        | azimuth   | local       | lower | released      |
        | elevation | maintenance | upper | released      |
        | azimuth   | maintenance | upper | fully pressed |
        | elevation | local       | lower | fully pressed |

    Scenario Outline: The hand control is turned from <axis> to the other main axis without being let go
      Given azimuth rests in mid-travel
      And elevation rests in mid-travel
      And the mode selector is at local
      When <axis> is moved under hand control towards its <end> end
      And the hand control is turned from <axis> to the other main axis without being let go
      Then <axis> stops within its category 1 time and travel

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

    Scenario Outline: The operator commands a stop while <axis> moves under hand control
      Given <axis> rests in mid-travel
      And the mode selector is at local
      When <axis> is moved under hand control towards its <end> end
      And the operator commands a stop
      Then <axis> stops within its category 2 travel

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | upper |

  @HR-031
  Rule: The horn sounds before the first motion
    Scenario: Azimuth is commanded from rest
      Given azimuth rests in mid-travel
      When azimuth is commanded towards its upper end at full rate
      Then azimuth moves only after the horn has sounded

  @HR-065 @HR-066 @HR-110
  Rule: An interlock unit that stops responding ends the motion
    Scenario: The interlock unit stops responding while azimuth moves
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the interlock unit stops responding
      Then azimuth stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time
      And the loss of communication with the interlock unit is reported to the supervisory system within 1 s

  @HR-029
  Rule: With an access open, remote commands cause no motion
    Scenario Outline: The <access> interlock opens at rest, and a remote command arrives
      Given azimuth rests in mid-travel
      When the controller is armed
      And the <access> interlock opens
      And azimuth is commanded towards its upper end at full rate
      Then azimuth receives no torque while an access is open

      Examples:
        | access |
        | hatch  |
        | ladder |

  @HR-039
  Rule: No axis receives torque while its stow pin is inserted
    Scenario: A remote command arrives for an axis with its stow pin inserted
      Given elevation rests in its stow attitude with its stow pin inserted
      When elevation is commanded towards its lower end at full rate
      Then elevation receives no torque while its stow pin is inserted

    Scenario: The hand control is held for an axis with its stow pin inserted
      Given elevation rests in its stow attitude with its stow pin inserted
      And the mode selector is at maintenance
      When the hand control of elevation is held towards its lower end for 9 s
      Then elevation receives no torque while its stow pin is inserted
