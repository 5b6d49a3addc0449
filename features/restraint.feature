Feature: What must not move does not move, whatever it is commanded

  The rows come from the tables of commands, of states and of stop causes.

  @matrix @HR-121 @HR-122
  Rule: In a state that must refuse it, a command neither enables an axis nor moves it
    Scenario Outline: <axis> is <command>, and is <state>
      When <axis> is <state>
      And it is <command>
      And <axis> has reached standstill without torque
      Then <axis> stays at rest despite the command
      And <axis> is neither enabled nor released despite the command

      Examples: commands and the states that refuse them
        | axis | state | command |

  @matrix @HR-028
  Rule: A reset is refused as long as a stop cause stays
    Scenario Outline: A reset is commanded while this stays: <stop cause>
      Given <axis> rests in mid-travel
      When the controller is armed
      And <stop cause>
      And <axis> has reached standstill without torque
      And the reset button is pressed and a reset is commanded
      Then the reset is refused

      Examples: stop causes that stay
        | axis | stop cause |

    Scenario Outline: A reset is commanded after the emergency stop, <when>
      Given azimuth rests in mid-travel
      And <wear>
      When azimuth moves towards its upper end at half rate
      And the emergency stop is pressed
      And azimuth has reached standstill without torque
      And the emergency stop is released
      And a reset is commanded
      Then the reset is refused

      Examples:
        | when                                     | wear                                                              |
        | before the reset button has been pressed | the mode selector is at remote                                    |
        | with a reset button that is stuck        | the fault reset_button_stuck is present on station                |

  @matrix @HR-022
  Rule: A reset button that is pressed during a stop does not keep the torque on
    Scenario: The reset button is pressed while the emergency stop is pressed and azimuth slows down
      Given azimuth rests in mid-travel
      When azimuth moves towards its upper end at full rate
      And the emergency stop is pressed
      And the reset button is pressed
      Then the torque of every axis is removed by the end of the monitored ramp time

  @matrix @HR-121
  Rule: A position outside the software limits is refused
    Scenario Outline: <axis> is commanded to a position beyond its <end> software limit
      Given <axis> rests in mid-travel
      When <axis> is commanded to a position 0.5 deg beyond its <end> software limit
      Then <axis> stays at rest after its position was refused

      Examples:
        | axis           | end   |
        | azimuth        | lower |
        | azimuth        | upper |
        | elevation      | lower |
        | elevation      | upper |
        | polarization H | lower |
        | polarization H | upper |
        | polarization V | lower |
        | polarization V | upper |

  @matrix @HR-121
  Rule: A command that came unarmed is not carried out later
    Scenario Outline: The controller is armed after <axis> was commanded unarmed
      When <axis> is at rest and not armed
      And it is <command>
      And the controller is armed
      Then <axis> stays at rest despite the command

      Examples:
        | axis      | command                 |
        | azimuth   | commanded to a rate     |
        | elevation | commanded to a position |
        | elevation | commanded to stow       |

  @matrix @HR-123
  Rule: The hand control moves nothing in remote, without the enabling device, or before the reset
    Scenario Outline: The hand control of <axis> is held with the mode selector at remote
      Given <axis> rests in mid-travel
      When the controller is armed
      And the hand control of <axis> is held towards its <end> end for 9 s
      Then <axis> has not moved under hand control

      Examples:
        | axis           | end   |
        | azimuth        | lower |
        | elevation      | upper |
        | polarization H | upper |

    Scenario Outline: The hand control of <axis> is held without the enabling device
      Given <axis> rests in mid-travel
      And the mode selector is at <mode>
      When the hand control of <axis> is held towards its <end> end without the enabling device for 9 s
      Then <axis> has not moved under hand control

      Examples:
        | axis           | end   | mode        |
        | azimuth        | upper | local       |
        | elevation      | lower | maintenance |
        | polarization V | lower | local       |

    Scenario Outline: The hand control of <axis> is held after a stop that has not been reset
      Given <axis> rests in mid-travel
      And the mode selector is at <mode>
      When <axis> is moved under hand control towards its <end> end
      And the encoder of <axis> raises its alarm
      And <axis> has reached standstill without torque
      And the hand control is released
      And the hand control of <axis> is held towards its <end> end for 9 s
      Then <axis> has not moved under hand control

      Examples:
        | axis           | end   | mode        |
        | azimuth        | upper | local       |
        | elevation      | lower | maintenance |
        | polarization H | lower | local       |

    Scenario Outline: The hand control is held with the stow pin of <axis> inserted
      Given <axis> rests in mid-travel
      And the fault pin_inserted is present on <name>
      And the mode selector is at maintenance
      When the hand control of <axis> is held towards its lower end for 9 s
      Then <axis> has not moved under hand control

      Examples:
        | axis      | name      |
        | azimuth   | azimuth   |
        | elevation | elevation |

  @matrix @HR-124
  Rule: Under hand control an axis moves slowly
    Scenario Outline: <axis> is moved under hand control in <mode> towards its <end> end
      Given <axis> rests in mid-travel
      And the mode selector is at <mode>
      When <axis> is moved under hand control towards its <end> end
      Then <axis> has moved under hand control at no more than a tenth of its full rate

      Examples:
        | axis           | end   | mode        |
        | azimuth        | lower | local       |
        | azimuth        | upper | maintenance |
        | elevation      | lower | maintenance |
        | elevation      | upper | local       |
        | polarization H | upper | local       |
        | polarization V | lower | maintenance |
