Feature: A wire that is not quite sound stops nothing, and hides nothing

  @HR-088
  Rule: What a network does now and then is ridden through
    Scenario Outline: The wire of <device> has <fault>
      Given azimuth rests in mid-travel
      And the fault messages_repeated stands on azimuth.2.drive
      When azimuth turns toward its upper end at half rate
      And the fault <fault> begins on <device>, with <how>
      Then azimuth rides through

      Examples:
        | device          | fault         | how                    |
        | azimuth.encoder | messages_lost | probability 2 %        |
        | azimuth.1.drive | messages_lost | probability 2 %        |
        | azimuth.encoder | delay         | by 1 ms, jitter 1 ms   |

    Scenario: Another encoder tells of its battery
      Given azimuth rests in mid-travel
      And the fault delay stands on elevation.encoder, with by 500 us, jitter 500 us
      When azimuth turns toward its upper end at half rate
      And the fault encoder_warning begins on elevation
      Then azimuth rides through
