from django.apps import AppConfig


class MessagesConfig(AppConfig):
    name = "jobsite.messages"
    label = "post"  # "messages" is Django's own contrib app
