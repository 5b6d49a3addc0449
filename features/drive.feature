Feature: A drive that trips, stops responding or loses its controller stops its axis

  @HR-050 @HR-051 @HR-052 @HR-053
  Rule: When one motor of a pair trips, the torque of its partner is removed
    Scenario Outline: Drive <number> of <axis> trips at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And drive <number> of <axis> trips
      Then the torque of its partner is removed within the torque-off time of a partner
      And <axis> stops within its category 0 travel
      And the brakes of <axis> are set within their brake time
      And the drive trip is reported to the supervisory system within 1 s

      @smoke
      Examples:
        | axis    | number |
        | azimuth | 1      |

      Examples:
        | axis      | number |
        | azimuth   | 2      |
        | elevation | 1      |
        | elevation | 2      |

  @HR-054 @HR-055 @HR-056
  Rule: A drive that stops responding loses its enable, and its axis comes to rest
    Scenario Outline: Drive <number> of <axis> stops responding at full rate
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And drive <number> of <axis> stops responding
      Then the torque of <axis> is removed within its torque-off time
      And <axis> stops within its category 0 travel
      And the loss of communication with a drive is reported to the supervisory system within 1 s

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |

  @HR-057 @HR-058 @HR-059 @HR-060
  Rule: When the controller fails in motion, drives and interlock unit stop the antenna by themselves
    Scenario Outline: The controller loses its power while <axis> moves
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the controller loses its power
      Then <axis> stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time
      And the brakes of <axis> are set within their brake time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario Outline: The controller is powered up again after it failed while <axis> moved
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at full rate
      And the controller loses its power
      And <axis> has reached standstill without torque
      And the controller is powered up again
      Then <axis> stays at rest after the controller has restarted

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

    Scenario Outline: The controller loses its power a second time while <axis> moves
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at half rate
      And the controller loses its power
      And <axis> has reached standstill without torque
      And the controller is powered up again
      And the reset button is pressed and a reset is commanded
      And <axis> moves towards its lower end at full rate
      And the controller loses its power
      Then <axis> stops within its category 1 time
      And the torque of every axis is removed by the end of the monitored ramp time

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-128
  Rule: An axis of which a motor has no torque is not released
    Scenario Outline: Motor <number> of <axis> has no torque when the axis is commanded
      Given <axis> has a drive for each of its motors
      And <axis> rests in mid-travel
      And the fault drive_torque_lost is present on <name>.<number>
      When <axis> is commanded towards its upper end at full rate
      Then <axis> stays at rest without the torque of both motors

      Examples:
        | axis      | name      | number |
        | azimuth   | azimuth   | 1      |
        | azimuth   | azimuth   | 2      |
        | elevation | elevation | 1      |
        | elevation | elevation | 2      |

  @HR-061 @HR-062 @HR-115
  Rule: A drive that runs away is disabled
    Scenario Outline: Drive 1 of <axis> gives its peak torque whatever its command
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at a quarter of full rate
      And drive 1 of <axis> runs away
      Then the torque of <axis> is removed within its torque-off time
      And the overspeed is reported to the supervisory system within 1 s

      Examples:
        | axis      |
        | azimuth   |
        | elevation |

  @HR-063 @HR-064 @HR-067
  Rule: A motor with false speed feedback is disabled together with its partner
    Scenario Outline: The speed feedback of motor <number> of <axis> <error>
      Given <axis> rests in mid-travel
      When <axis> moves towards its upper end at half rate
      And the speed feedback of motor <number> of <axis> <error>
      Then the torque of <axis> is removed within its torque-off time
      And <axis> stops within its category 0 travel
      And the uncontrolled motion is reported to the supervisory system within 1 s

      Examples:
        | axis      | number | error        |
        | azimuth   | 1      | reads zero   |
        | elevation | 2      | reads zero   |
        | azimuth   | 2      | changes sign |
        | elevation | 1      | changes sign |

  @HR-047
  Rule: A motor wired in reverse is detected at the first motion
    Scenario Outline: Motor <number> of <axis> is wired in reverse after a replacement
      Given <axis> rests in mid-travel
      And motor <number> of <axis> is wired in reverse
      When <axis> is commanded towards its upper end at full rate
      Then <axis> moves no further than the distance from its pre-limit to its final limit

      Examples:
        | axis      | number |
        | azimuth   | 1      |
        | elevation | 2      |

  @HR-125
  Rule: A fault of one axis stops the other axes too
    Scenario Outline: <stop cause> while azimuth and elevation move
      Given azimuth rests in mid-travel
      And elevation rests in mid-travel
      When azimuth and elevation move towards their <end> ends at half rate
      And <stop cause>
      Then <other> stops as well

      Examples:
        | stop cause                                       | other     | end   |
        | drive 1 of azimuth trips                         | elevation | upper |
        | drive 2 of elevation stops responding            | azimuth   | lower |
        | drive 1 of azimuth stops responding              | elevation | upper |
        | the encoder of azimuth stops responding          | elevation | lower |
        | the encoder of elevation freezes                 | azimuth   | upper |
        | the speed feedback of motor 1 of elevation reads zero | azimuth | lower |
        | brake 2 of azimuth is falsely reported set       | elevation | upper |
