Feature: The antenna is stowed before the wind can harm it

  The mast tells the wind once a second. Its mean over 10 min and its gust over 3 s have a limit each,
  beyond which the antenna belongs in its stow attitude, on its brakes.

  @HR-080 @HR-082
  Rule: At a limit of the wind the antenna goes to its stow attitude and lets go of its torque there
    Scenario Outline: A gust passes its limit while <axis> turns
      Given azimuth rests in mid-travel
      And elevation rests in mid-travel
      When <axis> turns toward its lower end at half rate
      And the wind rises to 1 m/s above its gust limit for stowing
      Then the wind limit is reported to the supervisory system within 2 s
      And the antenna is stowed within its stow time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario: A gust passes its limit while the antenna rests at its lower end
      Given elevation rests 1 deg inside its lower software limit
      When the controller is armed
      And the wind rises to 1 m/s above its gust limit for stowing
      Then the antenna is stowed within its stow time

    Scenario: The mean passes its limit while the antenna rests
      Given elevation rests in mid-travel
      When the controller is armed
      And the wind rises to 2 m/s above its mean limit for stowing
      Then the antenna is stowed within its stow time

  @HR-081 @HR-082
  Rule: Wind data that cannot be trusted are taken for a strong wind
    Scenario Outline: The weather mast <lie>
      Given elevation rests in mid-travel
      And a wind blows 6 m/s below its mean limit for stowing
      When the controller is armed
      And the weather mast <lie>
      Then the invalid wind data is reported to the supervisory system within 2 s
      And the antenna is stowed within its stow time

      Examples:
        | lie                            |
        | falls silent                   |
        | calls its data not valid       |
        | repeats its last word for ever |

  @HR-083
  Rule: Stowed, it stays
    Scenario: The wind grows after the antenna was stowed
      Given elevation rests in mid-travel
      When the controller is armed
      And the wind rises to 1 m/s above its gust limit for stowing
      And the antenna has been stowed
      And the wind grows to 28 m/s
      Then elevation stays in the wind
      And azimuth stays in the wind

  @HR-084
  Rule: Where people may be, the wind moves nothing by itself
    Scenario Outline: A gust passes its limit after <what>
      Given elevation rests in mid-travel
      When <what>
      And the wind rises to 1 m/s above its gust limit for stowing
      Then elevation stays where people may be, whatever the wind

      Examples:
        | what                                      |
        | the mode selector is turned to local       |
        | the mode selector is turned to maintenance |
        | the hatch interlock opens                  |

    Scenario Outline: <what> while the horn sounds for the way to the stow attitude
      Given elevation rests in mid-travel
      When the controller is armed
      And the wind rises to 1 m/s above its gust limit for stowing
      And <what>
      Then elevation stays where people may be, whatever the wind

      Examples:
        | what                                 |
        | the mode selector is turned to local |
        | the ladder interlock opens           |

  @HR-085
  Rule: One wrong word of the mast is no gust
    Scenario: The weather mast exaggerates for a second
      Given elevation rests in mid-travel
      And a wind blows 6 m/s below its mean limit for stowing
      When the controller is armed
      And the weather mast tells one second of 20 m/s too much
      Then elevation stays for a single gust
