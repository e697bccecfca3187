"""Messages that are neither words nor a picture, voice or file: polls, lists, and kinds that the
library does not know yet.

The platform goes on inventing kinds. Somebody who sends one has said something, perhaps of a
warning sign: its words are read where it has any, and else it counts as what cannot be read.
"""

from collections import deque
from collections.abc import Mapping
from typing import Any

from bot.messages import IncomingKind

_AROUND = """
    message_id message_thread_id date edit_date chat from sender_chat sender_business_bot
    sender_boost_count sender_tag business_connection_id via_bot is_topic_message
    is_automatic_forward is_from_offline is_paid_post paid_star_count author_signature
    forward_origin forward_from forward_from_chat forward_from_message_id forward_signature
    forward_sender_name forward_date reply_to_message reply_to_story reply_to_checklist_task_id
    reply_to_poll_option_id external_reply quote has_protected_content has_media_spoiler
    show_caption_above_media media_group_id link_preview_options effect_id reply_markup
    direct_messages_topic suggested_post_info text entities caption caption_entities
    """
"""What stands around the content of a message of any kind (Bot API, "Message")."""

_NOBODY_SAID = """
    pinned_message message_auto_delete_timer_changed connected_website write_access_allowed
    chat_background_set boost_added chat_owner_left chat_owner_changed new_chat_members
    left_chat_member new_chat_title new_chat_photo delete_chat_photo group_chat_created
    supergroup_chat_created channel_chat_created migrate_to_chat_id migrate_from_chat_id
    forum_topic_created forum_topic_edited forum_topic_closed forum_topic_reopened
    general_forum_topic_hidden general_forum_topic_unhidden video_chat_scheduled
    video_chat_started video_chat_ended video_chat_participants_invited giveaway_created giveaway
    giveaway_winners giveaway_completed gift unique_gift gift_upgrade_sent invoice
    successful_payment refunded_payment users_shared chat_shared passport_data web_app_data
    proximity_alert_triggered paid_message_price_changed direct_message_price_changed
    suggested_post_approved suggested_post_approval_failed suggested_post_declined
    suggested_post_paid suggested_post_refunded checklist_tasks_done poll_option_deleted
    managed_bot_created
    """
"""What the platform itself writes into a chat, and what holds nobody's words."""

_NO_CONTENT = frozenset((_AROUND + _NOBODY_SAID).split())

_WORDS = ("title", "question", "text", "caption")
"""Under these names the platform keeps what somebody wrote, in every kind."""

MOST_PARTS = 1000
"""Values of one message that are looked through; a list of tasks has thirty."""


def said_otherwise(message: Mapping[str, Any]) -> tuple[IncomingKind, str] | None:
    """What a message says that has no words of its own and nothing attached; ``None``: nothing.

    Args:
        message: as the platform gives it.
    """
    content = [message[name] for name in message if name not in _NO_CONTENT]
    if not content:
        return None
    words = words_in(content)
    return (IncomingKind.TEXT, words) if words else (IncomingKind.UNREADABLE, "")


def words_in(content: object) -> str:
    """Whatever somebody wrote in a poll, a list or the like, a line each; or ""."""
    found: list[str] = []
    waiting = deque([content])
    for _ in range(MOST_PARTS):
        if not waiting:
            break
        part = waiting.popleft()
        if isinstance(part, Mapping):
            for name, value in part.items():
                if isinstance(value, str):
                    found += [value] if name in _WORDS else []
                else:
                    waiting.append(value)
        elif isinstance(part, list):
            waiting.extend(part)
    return "\n".join(filter(None, found))
