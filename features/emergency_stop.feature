Feature: The emergency stop stops every axis, in every mode, and does not let go

  @HR-020 @HR-021 @HR-022 @HR-023 @HR-024
  Rule: Pressed in motion, it brings every axis to rest and takes the torque away
    Scenario Outline: It is pressed while <axis> turns toward its <end> end at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time
      And the brakes of <axis> are set within their brake time
      And the emergency stop is reported to the supervisory system within 1 s

      @smoke
      Examples:
        | axis      | end   |
        | azimuth   | upper |

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | lower |
        | elevation | upper |

    Scenario: It is pressed while azimuth and elevation turn together
      Given azimuth rests in mid-travel
      And elevation rests in mid-travel
      When azimuth and elevation turn toward their upper ends at full rate
      And the emergency stop is pressed
      Then azimuth stops within its category 1 time and travel
      And elevation stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

    Scenario Outline: It is pressed while <axis> turns
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis           |
        | polarization H |
        | polarization V |

    Scenario: It is pressed while the antenna drives to stow
      Given elevation rests 10 deg inside its lower software limit
      When the antenna drives to stow
      And the emergency stop is pressed
      Then elevation stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

    Scenario Outline: It is pressed while <axis> is moved by hand toward its <end> end
      Given <axis> rests in mid-travel
      And the mode selector stands at local
      When <axis> is moved by hand toward its <end> end
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

  @HR-025 @HR-026
  Rule: Pressed at rest, it allows no motion in any mode
    Scenario: A remote command arrives while it is pressed
      Given azimuth rests in mid-travel
      When the controller is armed
      And the emergency stop is pressed
      And azimuth is sent toward its upper end at full rate
      Then azimuth stays at rest under the emergency stop
      And the torque of every axis stays off

    Scenario Outline: The hand control is held while it is pressed, with the mode selector at <mode>
      Given azimuth rests in mid-travel
      And the mode selector stands at <mode>
      When the emergency stop is pressed
      And azimuth is pushed by hand toward its upper end for 9 s
      Then azimuth stays at rest under the emergency stop
      And the torque of every axis stays off

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-020 @HR-021 @HR-022 @HR-027
  Rule: One channel is enough
    Scenario Outline: Only channel <channel> of the emergency stop opens
      Given azimuth rests in mid-travel
      And channel <welded> of the emergency stop is welded closed
      When azimuth turns toward its upper end at full rate
      And the emergency stop is pressed
      Then azimuth stops within its category 1 time and travel
      And the torque of every axis is gone within the monitored ramp time
      And the interlock unit flags the channel discrepancy

      Examples:
        | channel | welded |
        | 1       | 2      |
        | 2       | 1      |

  @HR-028
  Rule: It stays in force until it is released by hand and reset
    Scenario: A reset is tried while it is still pressed
      Given azimuth rests in mid-travel
      When azimuth turns toward its upper end at full rate
      And the emergency stop is pressed
      And azimuth has come to rest
      And the reset button is pushed and a reset is commanded
      Then the reset is refused

  @HR-030 @HR-031
  Rule: Release and reset move nothing without a fresh command
    Scenario Outline: It is released and reset after <axis> was stopped at full rate
      Given <axis> rests in mid-travel
      When <axis> turns toward its upper end at full rate
      And the emergency stop is pressed
      And <axis> has come to rest
      And the emergency stop is released
      And the reset button is pushed and a reset is commanded
      Then <axis> stays where it is after the reset
      When <axis> is sent toward its lower end at full rate
      Then <axis> moves only after the horn has sounded

      Examples:
        | axis      |
        | azimuth   |
        | elevation |
