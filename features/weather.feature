Feature: The antenna is stowed before the wind can harm it

  The weather mast reports the wind once a second. The mean over 10 min and the gust over 3 s have a
  limit each, beyond which the antenna belongs in its stow attitude, on its brakes.

  @HR-080 @HR-082
  Rule: At a wind limit the antenna drives to its stow attitude and removes its torque there
    Scenario Outline: A gust exceeds its limit while <axis> moves
      Given azimuth rests in mid-travel
      And elevation rests 20 deg inside its lower software limit
      When <axis> moves towards its lower end at half rate
      And the wind rises to 1 m/s above the gust limit for stowing
      Then the wind limit is reported to the supervisory system within 2 s
      And the antenna is stowed within its stow time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario: A gust exceeds its limit while the antenna rests at its lower end
      Given elevation rests 1 deg inside its lower software limit
      When the controller is armed
      And the wind rises to 1 m/s above the gust limit for stowing
      Then the antenna is stowed within its stow time

    Scenario: The mean wind exceeds its limit while the antenna rests
      Given elevation rests 20 deg inside its lower software limit
      When the controller is armed
      And the wind rises to 2 m/s above the mean limit for stowing
      Then the antenna is stowed within its stow time

  @HR-081 @HR-082
  Rule: Invalid wind data are treated as a wind beyond its limit
    Scenario Outline: The antenna is stowed when <failure>
      Given elevation rests 20 deg inside its lower software limit
      And the wind is 6 m/s below the mean limit for stowing
      When the controller is armed
      And <failure>
      Then the invalidity of the wind data is reported to the supervisory system within 2 s
      And the antenna is stowed within its stow time

      Examples:
        | failure                                 |
        | the weather mast stops sending          |
        | the weather mast marks its data invalid |
        | the output of the weather mast freezes  |

  @HR-083
  Rule: A stowed antenna stays in its stow attitude
    Scenario: The wind rises further after the antenna has stowed itself
      Given elevation rests 20 deg inside its lower software limit
      When the controller is armed
      And the wind rises to 1 m/s above the gust limit for stowing
      And the antenna has stowed itself
      And the wind rises to 28 m/s
      Then elevation stays in its stow attitude
      And azimuth stays in its stow attitude

  @HR-084
  Rule: Where people may be present, the automatic wind stow causes no motion
    Scenario Outline: A gust exceeds its limit after <event>
      Given elevation rests 20 deg inside its lower software limit
      When <event>
      And the wind rises to 1 m/s above the gust limit for stowing
      Then elevation is not moved by the automatic wind stow

      Examples:
        | event                                      |
        | the mode selector is turned to local       |
        | the mode selector is turned to maintenance |
        | the hatch interlock opens                  |

    Scenario Outline: During the horn of the automatic wind stow, <event>
      Given elevation rests 20 deg inside its lower software limit
      When the controller is armed
      And the wind rises to 1 m/s above the gust limit for stowing
      And <event>
      Then elevation is not moved by the automatic wind stow

      Examples:
        | event                                |
        | the mode selector is turned to local |
        | the ladder interlock opens           |

    Scenario Outline: The mode selector is turned back to remote after a gust, <then>
      Given elevation rests 20 deg inside its lower software limit
      When the mode selector is turned to local
      And the wind rises to 1 m/s above the gust limit for stowing
      And 5 s pass
      And the mode selector is turned to remote
      And <command>
      Then elevation stays at rest although the wind blows on

      Examples:
        | then                  | command                                              |
        | and nothing is reset  | 200 ms pass                                          |
        | and a reset commanded | the reset button is pressed and a reset is commanded |

    Scenario: The mode selector is turned back to remote with a silent mast, and a reset commanded
      Given elevation rests 20 deg inside its lower software limit
      When the mode selector is turned to local
      And the weather mast stops sending
      And 70 s pass
      And the mode selector is turned to remote
      And the reset button is pressed and a reset is commanded
      Then elevation stays at rest although the wind blows on

  @HR-080
  Rule: The antenna is stowed a second time as well
    Scenario: The wind passes its gust limit after the antenna has been stowed for a silent mast and moved away
      Given elevation rests 20 deg inside its lower software limit
      When the controller is armed
      And the weather mast stops sending
      And the antenna has stowed itself
      And everything is put right and the mode selector is at remote
      And the reset button is pressed and a reset is commanded
      And elevation is commanded towards its lower end at half rate
      And 8 s pass
      And the operator commands a stop
      And elevation has reached standstill
      And the wind rises to 1 m/s above the gust limit for stowing
      Then the antenna is stowed within its stow time

  @HR-085
  Rule: A single false reading of the weather mast is not treated as a gust
    Scenario: The weather mast reports 20 m/s too much for one second
      Given elevation rests 20 deg inside its lower software limit
      And the wind is 6 m/s below the mean limit for stowing
      When the controller is armed
      And the weather mast reports 20 m/s too much for one second
      Then elevation stays at rest despite the single reading
