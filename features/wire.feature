Feature: Minor disturbances of the network stop no motion

  @HR-088
  Rule: Occasional loss and delay of messages, and warnings, cause no stop
    Scenario Outline: The connection of <device> has the fault <fault> with <how>
      Given azimuth rests in mid-travel
      And the fault messages_repeated is present on azimuth.2.drive
      When azimuth moves toward its upper end at half rate
      And the fault <fault> begins on <device>, with <how>
      Then azimuth keeps moving undisturbed

      Examples:
        | device          | fault         | how                  |
        | azimuth.encoder | messages_lost | probability 2 %      |
        | azimuth.1.drive | messages_lost | probability 2 %      |
        | azimuth.encoder | delay         | by 1 ms, jitter 1 ms |

    Scenario: The encoder of another axis reports a battery warning
      Given azimuth rests in mid-travel
      And the fault delay is present on elevation.encoder, with by 500 us, jitter 500 us
      When azimuth moves toward its upper end at half rate
      And the fault encoder_warning begins on elevation
      Then azimuth keeps moving undisturbed
