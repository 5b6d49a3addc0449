Feature: The emergency stop stops every axis in every mode and latches

  @HR-020 @HR-021 @HR-022 @HR-023 @HR-024
  Rule: Pressed in motion, the emergency stop brings every axis to rest and removes the torque
    Scenario Outline: The emergency stop is pressed while <axis> moves towards its <end> end at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its <end> end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time
      And the brakes of <axis> are set within their brake time
      And the emergency stop is reported to the supervisory system within 1 s

      @smoke
      Examples:
        | axis    | end   |
        | azimuth | upper |

      Examples:
        | axis      | end   |
        | azimuth   | lower |
        | elevation | lower |
        | elevation | upper |

    Scenario: The emergency stop is pressed while azimuth and elevation move together
      Given azimuth rests in mid-travel
      And elevation rests in mid-travel
      When azimuth and elevation move towards their upper ends at full rate
      And the emergency stop is pressed
      Then azimuth stops within its category 1 time and travel
      And elevation stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

    Scenario Outline: The emergency stop is pressed while <axis> moves
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis           |
        | polarization H |
        | polarization V |

    Scenario: The emergency stop is pressed while the antenna drives to stow
      Given elevation rests 10 deg inside its lower software limit
      When the antenna drives to stow
      And the emergency stop is pressed
      Then elevation stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

    Scenario Outline: The emergency stop is pressed while <axis> moves under hand control towards its <end> end
      Given <axis> rests in mid-travel
      And the mode selector is at local
      When <axis> is moved under hand control towards its <end> end
      And the emergency stop is pressed
      Then <axis> stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      | end   |
        | azimuth   | upper |
        | elevation | lower |

  @HR-025 @HR-026
  Rule: Pressed at rest, the emergency stop allows no motion in any mode
    Scenario: A remote command arrives while the emergency stop is pressed
      Given azimuth rests in mid-travel
      When the controller is armed
      And the emergency stop is pressed
      And azimuth is commanded towards its upper end at full rate
      Then azimuth stays at rest while the emergency stop is pressed
      And the torque of every axis stays off

    Scenario Outline: The hand control is held while the emergency stop is pressed, with the mode selector at <mode>
      Given azimuth rests in mid-travel
      And the mode selector is at <mode>
      When the emergency stop is pressed
      And the hand control of azimuth is held towards its upper end for 9 s
      Then azimuth stays at rest while the emergency stop is pressed
      And the torque of every axis stays off

      Examples:
        | mode        |
        | local       |
        | maintenance |

  @HR-020 @HR-021 @HR-022 @HR-027
  Rule: Either channel of the emergency stop alone stops the antenna when the other is welded closed, and the discrepancy is flagged
    Scenario Outline: Only channel <channel> of the emergency stop opens
      Given azimuth rests in mid-travel
      And channel <welded> of the emergency stop is welded closed
      When azimuth moves towards its upper end at full rate
      And the emergency stop is pressed
      Then azimuth stops within its category 1 time and travel
      And the torque of every axis is removed by the end of the monitored ramp time
      And the interlock unit flags the channel discrepancy

      Examples:
        | channel | welded |
        | 1       | 2      |
        | 2       | 1      |

  @HR-028
  Rule: The emergency stop stays in force until it is released by hand and reset
    Scenario: A reset is commanded while the emergency stop is still pressed
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the emergency stop is pressed
      And azimuth has reached standstill without torque
      And the reset button is pressed and a reset is commanded
      Then the reset is refused

  @HR-030 @HR-031
  Rule: Release and reset of the emergency stop cause no motion without a fresh command
    Scenario Outline: The emergency stop is released and reset after <axis> was stopped at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the emergency stop is pressed
      And <axis> has reached standstill without torque
      And the emergency stop is released
      And the reset button is pressed and a reset is commanded
      Then <axis> stays at rest after the reset

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario Outline: A fresh command moves <axis> after release and reset of the emergency stop
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the emergency stop is pressed
      And <axis> has reached standstill without torque
      And the emergency stop is released
      And the reset button is pressed and a reset is commanded
      And <axis> is commanded towards its lower end at full rate
      Then <axis> moves only after the horn has sounded

      Examples:
        | axis      |
        | azimuth   |
        | elevation |
