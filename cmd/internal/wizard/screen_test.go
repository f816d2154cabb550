package wizard
